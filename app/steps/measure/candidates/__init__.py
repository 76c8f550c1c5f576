"""Possible replacements."""
