"""Outline files to strokes: DXF and lists of points, by a bounded reader."""
