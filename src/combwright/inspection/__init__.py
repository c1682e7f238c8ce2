"""How many plates of a delivery to measure, and what the chances are."""
