"""Outlines of lines and arcs: exact length, area, nearest places, crossings."""
