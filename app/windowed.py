"""``seatwright-window``: the window as a desktop starts it, with no console to write to."""

from __future__ import annotations

import sys
from pathlib import Path

from app.cli.display import why_no_window


def main() -> int:
    """Show the window, with the file that was opened by a double click; returns the exit status.

    Whatever goes wrong is told in a box: there may be no stream to write to.
    """
    reason = why_no_window()
    if reason is not None:  # no box can be shown either
        if sys.stderr is not None:
            sys.stderr.write(f"seatwright-window: {reason}\n")
        return 2
    from app.shell.run import run_from_desktop  # noqa: PLC0415 - Qt is only loaded where it can run

    return run_from_desktop([Path(text) for text in sys.argv[1:] if text])


if __name__ == "__main__":
    sys.exit(main())
