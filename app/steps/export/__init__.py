"""Step Export."""
