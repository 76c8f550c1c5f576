"""Step Measure: sizes, readings, an outline file, a scan, candidates."""
