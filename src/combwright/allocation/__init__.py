"""Plates to orders: which orders can be built in full, and exactly which plate goes where."""
