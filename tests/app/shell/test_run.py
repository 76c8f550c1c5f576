"""The window as a desktop starts it: no streams, a file that was double-clicked, errors in a box.

Each start is a process of its own, for a process has one application.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest

from core.files.project.demos import FOLDER

if TYPE_CHECKING:
    from pathlib import Path

ROOT = FOLDER.parents[1]
DEMO, RING = FOLDER / "compressor-intake.json", FOLDER / "lens-ring.json"

START = """
import json, os, sys
sys.stdout = sys.stderr = None
from pathlib import Path
from PySide6.QtGui import QFileOpenEvent
from PySide6.QtWidgets import QApplication, QMessageBox
import app.shell.run as run
import app.windowed

seen = {"told": [], "names": []}

def told(box):
    seen["told"].append([box.text(), box.informativeText(), str(box.textFormat())])
    return 0

def name(window):
    seen["names"].append(None if window.session is None else window.session.project.name)

def shown(application, window):
    application.window = window
    window.show()
    application.processEvents()
    name(window)
    for path in os.environ.get("OPENED", "").split():
        QApplication.sendEvent(application, QFileOpenEvent(path))
        name(window)
    seen["icon"] = not application.windowIcon().pixmap(64).isNull()
    return 0

QMessageBox.exec = told
run.Application.run = shown
if os.environ.get("FAULT"):
    def fail(*_): raise RuntimeError(os.environ["FAULT"])
    run.MainWindow = fail
seen["status"] = app.windowed.main()
Path(os.environ["SEEN"]).write_text(json.dumps(seen))
"""


def start(folder: Path, *arguments: str, **environment: str) -> dict[str, Any]:
    seen = folder / "seen.json"
    env = os.environ | {"PYTHONPATH": str(ROOT), "SEEN": str(seen), "XDG_CONFIG_HOME": str(folder), "HOME": str(folder)}
    env |= {"XDG_DATA_HOME": str(folder), "QT_QPA_PLATFORM": "offscreen", **environment}
    done = subprocess.run(
        [sys.executable, "-c", START, *arguments], env=env, timeout=120, check=False, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(seen.read_text(encoding="utf-8"))
    return answer


def test_a_file_that_was_double_clicked_is_opened_and_so_is_one_that_the_desktop_hands_over(tmp_path: Path) -> None:
    seen = start(tmp_path, str(DEMO), OPENED=str(RING))
    first, second = (json.loads(path.read_text(encoding="utf-8"))["name"] for path in (DEMO, RING))
    assert seen == {"told": [], "names": [first, second], "icon": True, "status": 0}


def test_a_file_that_cannot_be_opened_is_told_in_a_box_over_the_start_page(tmp_path: Path) -> None:
    seen = start(tmp_path, str(tmp_path / "<b>absent.json"))
    ((title, text, form),) = seen["told"]
    assert title == "The project was not opened"
    assert str(tmp_path / "<b>absent.json") in text
    assert form.endswith("PlainText")
    assert (seen["names"], seen["status"]) == ([None], 0)


def test_a_start_that_fails_is_told_in_a_box(tmp_path: Path) -> None:
    seen = start(tmp_path, FAULT="<b>no room")
    assert seen["told"] == [["Seatwright could not start.", "RuntimeError: <b>no room", "TextFormat.PlainText"]]
    assert seen["status"] == 2


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere there always is a display")
def test_without_a_display_the_status_is_2_and_no_stream_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    import app.windowed

    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "stderr", None)
    assert app.windowed.main() == 2
