"""A true cut through the assembled housing, with its sizes."""
