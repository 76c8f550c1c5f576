"""The open project: the one owner of state, undo and signals; work beside the window; settings."""
