"""The values of a project file: their types are its schema."""
