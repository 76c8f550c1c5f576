"""Errors, lengths, verdicts and sentences: what is said, and in which words."""
