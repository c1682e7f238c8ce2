"""The maker's files: read with every error at once, and written again."""
