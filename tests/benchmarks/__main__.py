"""Runs the benchmarks named on the command line, or all."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from tests.benchmarks import core_work, drawing_work, scale_work, scan_work, window_work

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.benchmarks.timing import Ratio

BENCHMARKS: dict[str, Callable[[], Ratio]] = {
    "edit": core_work.one_edit,
    "frame": window_work.edit_to_frame,
    "start": window_work.start_to_window,
    "export": core_work.one_export,
    "nearest": core_work.nearest_distance,
    "many": core_work.many_features,
    "drawing": drawing_work.large_drawing,
    "scan": scan_work.scan_to_oval,
}

SCALE = "scale"
"""The benchmark that has a line for each kind of size."""


def main() -> None:
    """Print a line for each benchmark."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    for name in sys.argv[1:] or (*BENCHMARKS, SCALE):
        for row in scale_work.growths() if name == SCALE else (BENCHMARKS[name](),):
            print(row.line(), flush=True)  # noqa: T201 - this is its whole output


if __name__ == "__main__":
    main()
