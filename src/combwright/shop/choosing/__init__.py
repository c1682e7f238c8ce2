"""Choosing: which layouts, keys and reeds suit a repertoire, worked out and kept."""
