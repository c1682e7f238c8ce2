"""Pitch names, hertz, cents and temperaments."""
