"""Kinds of features."""
