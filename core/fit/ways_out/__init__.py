"""What checks propose when a limit is missed."""
