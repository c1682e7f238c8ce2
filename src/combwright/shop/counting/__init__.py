"""Counting rounds: which bins to count, what was found, and booking what differs."""
