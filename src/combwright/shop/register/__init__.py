"""Finished instruments, and every plate they hold."""
