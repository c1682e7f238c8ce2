"""Customers, what they wish for, and what has happened to each order."""
