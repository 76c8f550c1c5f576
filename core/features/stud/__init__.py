"""Clamp studs: kinds, lengths, holes and thread."""
