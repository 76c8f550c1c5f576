"""Seatwright's core: geometry, the part, its resizing and its proof. No Qt below this folder.

Lengths are millimetres and angles radians throughout, float64; +X lies along the long axis, the origin at the seat
centre, outlines run counter-clockwise and holes clockwise. Inches exist only in ``core.words.lengths`` and on screen.
"""
