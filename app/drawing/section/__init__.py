"""The section."""
