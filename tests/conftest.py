"""No window pops up on the tester's desktop, unless a screen plug-in is asked for by name."""

import os

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--renew", action="store_true", help="write the golden files anew (tests/golden)")
