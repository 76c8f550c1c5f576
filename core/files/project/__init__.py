"""The project file and the demos."""
