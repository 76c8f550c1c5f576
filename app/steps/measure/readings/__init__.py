"""The table of readings."""
