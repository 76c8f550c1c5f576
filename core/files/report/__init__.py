"""Report, summary and picture of a result."""
