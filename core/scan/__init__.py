"""A picture of a rim, a template or a tracing: pixels to an edge in millimetres, the edge to an oval."""
