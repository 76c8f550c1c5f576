"""The table that readings are typed into: its columns, and what typing changes."""
