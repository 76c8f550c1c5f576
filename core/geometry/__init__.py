"""Plane geometry that knows no housing: lines and arcs, ovals, parallel curves, regions."""
