"""Drawings of the comb, and the pages and labels that go to the racks and to the bench."""
