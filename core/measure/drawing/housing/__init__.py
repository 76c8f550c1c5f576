"""Which outline is what, and the insert or housing that is made of them."""
