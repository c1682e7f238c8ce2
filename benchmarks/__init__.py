"""What must be fast and near the best, against peers, bounds and the goals; one command."""
