"""Combs, layouts and the workshop's numbers: looked at as drawings, edited, exchanged."""
