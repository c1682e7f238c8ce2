"""Backups, bringing one back, and moving the shop to another database."""
