"""Outlines to ovals: which family they are, and how exactly."""
