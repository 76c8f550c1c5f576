"""From edges to sizes with their uncertainty."""
