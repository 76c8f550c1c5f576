"""No window pops up on the tester's desktop, unless a screen plug-in is asked for by name."""

import os
from pathlib import Path

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--renew", action="store_true", help="write the golden files anew (tests/golden)")


FAST = (
    "test_arrows.py",
    "core/geometry/test_doctests.py",
    "core/words",
    "core/part",
    "core/features",
    "core/metal/section",
    "core/resize/test_conflicts.py",
    "core/new",
    "core/fit/checks/test_concerns.py",
    "core/fit/checks/test_squeeze.py",
    "core/measure/readings/test_statistics.py",
    "core/measure/drawing/loops",
    "core/files/project",
    "core/files/test_publish.py",
    "core/test_aim.py",
    "core/test_edits.py",
    "app/widgets",
    "app/drawing/section",
    "app/shell/test_looking.py",
    "test_golden.py",
)
"""What ``-m fast`` runs: some of every room, in seconds."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what is fast."""
    root = Path(__file__).parent
    for item in items:
        place = item.path.relative_to(root).as_posix()
        if place.startswith(FAST):
            item.add_marker("fast")
