"""The gap by station."""
