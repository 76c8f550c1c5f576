"""An old outline file."""
