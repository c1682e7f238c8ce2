"""Made-up files: a whole workshop to look around in, and a small commented set to start from."""
