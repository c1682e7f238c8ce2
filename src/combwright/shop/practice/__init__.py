"""A copy of the shop to learn on, which books nothing real."""
