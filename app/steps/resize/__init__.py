"""Step Resize: features and changes."""
