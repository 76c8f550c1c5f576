"""Strokes to closed outlines: joined, freed of doubles, nested."""
