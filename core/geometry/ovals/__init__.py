"""Oval families and what is measured from them."""
