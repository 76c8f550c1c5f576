"""Step Fit: verdicts."""
