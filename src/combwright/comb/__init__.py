"""Combs, seats and plates: what fits where, what a layout plays."""
