"""The ways to measure an insert: by readings, from an old outline, from a scan, among candidates."""
