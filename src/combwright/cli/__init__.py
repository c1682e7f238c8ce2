"""The `combwright` command."""
