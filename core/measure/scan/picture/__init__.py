"""From a picture file to edges in millimetres."""
