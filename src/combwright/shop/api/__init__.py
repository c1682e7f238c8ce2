"""The shop for other programs: JSON, with tokens."""
