"""The plan."""
