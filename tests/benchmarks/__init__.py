"""Benchmarks: ratios to a yardstick timed in the same run, never a test with a time limit.

``python -m tests.benchmarks`` prints them all; ``python -m tests.benchmarks edit nearest`` only those.
"""
