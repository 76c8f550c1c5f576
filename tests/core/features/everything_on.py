"""Everything that is done with a kind of feature: ``everything_on.py KIND FOLDER``."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ezdxf.filemanagement import readfile
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from app.__main__ import main
from app.shell.window import MainWindow
from core import edits
from core.evaluate import evaluate
from core.features.kind import CURVE_WORDS
from core.features.registry import FEATURES
from core.files.project.demos import load_demo
from core.files.project.file import load_project, save_project
from core.files.report.picture import fit_picture_svg
from core.files.report.report import report_markdown
from core.files.report.summary import as_builtins, as_text
from core.metal.section.section import section
from core.new.item import new_feature
from core.part.fields import FieldKind, fields_of
from core.words.ends import End

if TYPE_CHECKING:
    from types import TracebackType

    from core.evaluate import Result
    from core.features.kind import Kind
    from core.part.project import Project

LIST = "housing.base.features"


def everything_on(kind: str, folder: Path) -> None:
    """Add a feature, resize, check, draw, write and read it, and edit it in the window."""
    project = load_demo("compressor-intake")
    item = new_feature(project, End.BASE, kind)
    assert isinstance(item, FEATURES[kind])
    project = edits.add_item(project, LIST, item)
    path = f"{LIST}[{len(project.housing.base.features) - 1}]"
    _says_what_it_has(item)
    _resizes(project, item, path)
    _is_told(evaluate(project), item)
    _is_written(project, item, folder)
    _is_edited(project, kind)


def _says_what_it_has(item: Kind) -> None:
    fields = fields_of(type(item))
    for name in (item.height_field, item.hole_field, item.ring_field, *item.strip_fields):
        assert not name or name in fields, name
    assert item.follows in item.may_follow


def _resizes(project: Project, item: Kind, path: str) -> None:
    """Whatever it follows it goes somewhere, and every quantity of it is listed; a casting keeps it."""
    for follows in item.may_follow:
        result = evaluate(edits.set_value(project, f"{path}.follows", follows))
        rows = [row for row in result.changes if row.place.path == path]
        assert rows
        assert [row.quantity for row in rows] == [name for name, _ in item.quantities(lambda: 0.0)]
        if follows is item.follows:
            assert not [c for c in result.conflicts if c.feature == item.name]
        assert any(part.name == item.name and part.path == path.rpartition(".")[2] for part in result.after.base.parts)
        if str(follows) == "machine":
            assert not any(row.is_change for row in rows)
    if item.at is not None and item.follows in CURVE_WORDS:  # the demo's new insert is another one
        assert all(row.is_change for row in evaluate(project).changes if row.place.path == path)
    rework = evaluate(edits.set_text(project, "choices.mode", "rework"))
    assert not any(row.is_change for row in rework.changes if row.place.path == path)


def _is_told(result: Result, item: Kind) -> None:
    """Checks, section, report and picture take it."""
    assert result.findings
    assert item.name in report_markdown(result)
    assert item.name in as_text(result)
    assert item.name in json.dumps(as_builtins(result))
    fit_picture_svg(result, End.BASE)
    if (at := item.at) is not None:
        section(result.before, result.after, result.project.limits, (at[0] - 50.0, at[1]), (at[0] + 50.0, at[1]))


def _is_written(project: Project, item: Kind, folder: Path) -> None:
    """File and command line: read back as it was, set by its fields, checked, and written as audited outlines."""
    file = folder / "own.json"
    save_project(project, file)
    assert load_project(file) == project
    own = f"{LIST}[{item.name}]"
    sets = [
        f"--set={own}.{name}={getattr(item, name)}"
        for name, field in fields_of(type(item)).items()
        if field.kind not in (FieldKind.GROUP, FieldKind.LIST) and name != "name"
    ]
    assert main(["check", str(file), *sets]) in (0, 1)
    written = folder / "written"
    assert main(["export", str(file), "--to", str(written), "--old", "--r12", *sets, "--json"]) in (0, 1)
    layers = {e.dxf.layer for dxf in written.glob("*.dxf") for e in readfile(dxf).modelspace()}
    assert [name for name in layers if item.word().upper() in name], sorted(layers)
    (report,) = written.glob("*.md")
    assert item.name in report.read_text(encoding="utf-8")


def _is_edited(project: Project, kind: str) -> None:
    """The window: added by the menu, each of its fields in reach and in words, drawn in plan and section."""
    application = QApplication.instance() or QApplication([])
    window = MainWindow(project)
    window.resize(1280, 800)
    window.show()
    board = window.workspace
    assert board is not None
    board.go_to(1)
    assert board.steps[1].lists[0].add(kind)
    assert application is not None
    features = board.session.project.housing.base.features
    path = f"{LIST}[{len(features) - 1}]"
    assert isinstance(features[-1], FEATURES[kind])
    for name, field in fields_of(FEATURES[kind]).items():
        if field.kind not in (FieldKind.GROUP, FieldKind.LIST):
            assert board.reach(f"{path}.{name}"), name
            assert field.label
            assert field.meaning, name
    window.grab()
    QApplication.processEvents()
    assert board.session.result.project == board.session.project
    board.session.close()


def _ended(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """End at once, told by the exit status: a slot's exception would not end Qt's loop."""
    sys.__excepthook__(kind, error, trace)
    os._exit(3)


if __name__ == "__main__":
    sys.excepthook = _ended
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, sys.argv[2])
    everything_on(sys.argv[1], Path(sys.argv[2]))
    sys.stdout.write("done\n")
