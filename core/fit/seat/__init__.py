"""The insert in its seat: gaps, the floor that is left, the rim on it, the ends of the spread."""
