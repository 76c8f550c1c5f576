"""The window around the steps: start page, files, rail."""
