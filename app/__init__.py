"""The window: shows what `core` answers, and sends edits to the one session object."""
