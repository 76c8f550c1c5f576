"""What goes into which drawing, DXF out, its audit and its list."""
