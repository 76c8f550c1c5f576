"""Sizes typed in."""
