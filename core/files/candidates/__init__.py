"""Tables and libraries of candidates."""
