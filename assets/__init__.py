"""Demo projects, pictures and tables that the program reads or the README shows."""
