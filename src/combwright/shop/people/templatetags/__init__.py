"""What the pages of people ask for."""
