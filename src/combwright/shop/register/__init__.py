"""Instruments with their serial numbers, and every plate they hold or held."""
