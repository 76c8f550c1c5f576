"""Parallel curves, and their trimmed form where an inward move folds over."""
