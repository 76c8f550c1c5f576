"""A scan."""
