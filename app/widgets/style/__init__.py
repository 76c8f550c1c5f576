"""How the window looks: palette and style."""
