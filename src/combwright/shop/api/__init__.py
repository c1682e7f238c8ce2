"""The shop for other programs: JSON with tokens, and signed calls that tell them of orders."""
