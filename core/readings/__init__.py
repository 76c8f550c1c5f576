"""Readings to sizes: what was read off the insert, and how far it can be trusted."""
