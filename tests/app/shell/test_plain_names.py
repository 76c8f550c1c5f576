"""Whatever a user calls a thing, the window shows that name: no markup, no pictures fetched, no keys made of it."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, QObject, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QLabel, QMessageBox, QWidget

from app.shell.real_dialogs import REAL
from app.shell.window import MainWindow
from app.steps.dialogs import Unsaved
from app.widgets.folds import FoldButton
from app.widgets.plain import on_button
from core.files.project.demos import FOLDER
from core.files.project.file import decode_project

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from core.part.project import Project
    from tests.app.conftest import Answers

MARK = "<img src=x> R&D [*] \u202e"


def marked(value: object, count: Iterator[int]) -> object:
    """A project's raw values, every name in it markup, a key, and turned about; all different."""
    if isinstance(value, dict):
        return {key: f"{MARK}{next(count)}" if key == "name" else marked(inner, count) for key, inner in value.items()}
    if isinstance(value, list):
        return [marked(inner, count) for inner in value]
    return value


@pytest.fixture(scope="module", params=["pump-strainer", "compressor-intake"])
def odd(request: pytest.FixtureRequest) -> Project:
    raw = json.loads((FOLDER / f"{request.param}.json").read_text(encoding="utf-8"))
    raw = json.loads(json.dumps(marked(raw, iter(range(1000)))))
    samples = raw["new_insert"]["readings"]["samples"]
    raw["new_insert"]["readings"]["samples"] = [f"{MARK}sample {i}" for i in range(len(samples))]
    return decode_project(json.dumps(raw).encode(), where="odd")


def misread(root: QWidget) -> Iterator[str]:
    """Every text under a widget that Qt would not show as it is."""
    for label in root.findChildren(QLabel):
        if label.textFormat() is not Qt.TextFormat.PlainText and "<img" in label.text():
            yield f"label: {label.text()}"
    for widget in (root, *root.findChildren(QWidget)):
        for text in (widget.toolTip(), widget.statusTip(), widget.whatsThis()):
            if "<img" in text:
                yield f"tip of {type(widget).__name__}: {text}"
    keyed = [button.text() for button in root.findChildren(QAbstractButton)]
    keyed += [action.text() for action in root.findChildren(QAction)]
    yield from (f"key: {text}" for text in keyed if re.search(r"R&(?!&)D", text))
    for view in root.findChildren(QAbstractItemView):
        if view.model() is not None:
            yield from (f"tip in {type(view).__name__}: {text}" for text in tips(view.model()) if "<img" in text)


def tips(model: QAbstractItemModel, parent: QModelIndex | None = None) -> Iterator[str]:
    parent, role = parent or QModelIndex(), Qt.ItemDataRole.ToolTipRole
    rows, columns = model.rowCount(parent), 1 if isinstance(model, QAbstractListModel) else model.columnCount(parent)
    for row in range(rows):
        for column in range(columns):
            yield str(model.index(row, column, parent).data(role) or "")
    for across, count in ((Qt.Orientation.Horizontal, columns), (Qt.Orientation.Vertical, rows)):
        yield from (str(model.headerData(i, across, role) or "") for i in range(count))


def shown(root: QObject) -> str:
    """All names that labels, buttons, boxes and tips hold."""
    texts = [label.text() for label in root.findChildren(QLabel)]
    texts += [button.text() for button in root.findChildren(QAbstractButton)]
    return "\n".join(texts)


def test_no_name_of_a_project_is_read_as_markup_or_as_a_key(qtbot: QtBot, odd: Project, answers: Answers) -> None:
    window = MainWindow(odd, None, dialogs=answers.dialogs())
    qtbot.addWidget(window)
    window.show()
    qtbot.wait(300)
    for action in window.step_actions:
        action.trigger()
        qtbot.wait(300)
        assert list(misread(window)) == []
    assert MARK.replace("&", "&&") in shown(window)  # a feature's own button
    assert window.windowTitle().startswith(f"{MARK}".replace("[*]", "[*][*]"))  # else the mark of unsaved edits
    window.show_start()
    qtbot.wait(100)
    window._fill_recent()
    assert list(misread(window)) == []


def test_no_box_reads_a_name_as_markup(monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, tmp_path: Path) -> None:
    owner = QWidget()
    seen: list[str] = []
    qtbot.addWidget(owner)

    def look(box: QMessageBox) -> int:
        seen.extend(label.text() for label in box.findChildren(QLabel) if label.text())
        assert list(misread(box)) == []
        return 0

    monkeypatch.setattr(QMessageBox, "exec", look)
    assert REAL.ask_unsaved(owner, MARK) is Unsaved.CANCEL
    REAL.ask_overtaken(owner, tmp_path / MARK)
    assert not REAL.ask_replace(owner, MARK)
    REAL.tell(owner, MARK, MARK)
    REAL.inform(owner, MARK, MARK)
    assert sum(MARK.strip() in text for text in seen) == 7


def test_a_button_that_paints_itself_shows_each_sign_once(qtbot: QtBot) -> None:
    button, plain = FoldButton(on_button("R&D")), FoldButton("RD")
    for made in (button, plain):
        qtbot.addWidget(made)
    assert button.shortcut().isEmpty()
    sign = plain.fontMetrics().horizontalAdvance("R&D") - plain.fontMetrics().horizontalAdvance("RD")
    assert button.sizeHint().width() - plain.sizeHint().width() == pytest.approx(sign, abs=1)
