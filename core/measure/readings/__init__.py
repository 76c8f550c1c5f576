"""The table of readings: statistics, what an oval reads, families fitted and ranked."""
