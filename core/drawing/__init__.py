"""An old part's drawing, read from a file: strokes to loops, loops to ovals and holes, these to a housing."""
