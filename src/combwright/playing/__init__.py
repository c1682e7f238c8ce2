"""Playing: what tunes cost on an instrument, how to play them best, and which reeds would help."""
