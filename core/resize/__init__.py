"""Where features go when the insert changes, what changes, and what stands in the way."""
