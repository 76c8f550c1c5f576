"""The checks, one module each, all of one signature: ``check(case) -> findings``."""
