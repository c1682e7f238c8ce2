"""The workshop in a browser: Django lives here and nowhere else."""
