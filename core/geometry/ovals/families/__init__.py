"""The kinds of oval, one a file: what `core.geometry.ovals.ovals.Family` registers."""
