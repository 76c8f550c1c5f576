"""And, or and not of outlines; least metal between them; lines cut through them."""
