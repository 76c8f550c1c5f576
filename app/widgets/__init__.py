"""Fields, forms, lists and the theme."""
