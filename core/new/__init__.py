"""Sensible sizes for a part, or for a feature, that was only named."""
