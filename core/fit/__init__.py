"""Whether the new insert fits: the checks, and what they measure and propose."""
