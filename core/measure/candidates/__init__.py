"""Possible replacements, compared."""
