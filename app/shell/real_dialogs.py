"""The questions that a window asks, as Qt's own dialogs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QPageLayout
from PySide6.QtWidgets import QFileDialog, QGridLayout, QMessageBox, QSizePolicy, QSpacerItem, QWidget

from app.session import settings
from app.steps.dialogs import Dialogs, MeasuringDialogs, Overtaken, Unsaved

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

SUFFIX: Final = ".seatwright"
_TOLD_CHARS: Final = 64
_PROJECTS: Final = f"Seatwright projects (*{SUFFIX} *.json);;All files (*)"
_DRAWINGS: Final = "Outlines (*.dxf *.csv *.txt);;All files (*)"
_PICTURES: Final = "Pictures (*.png *.jpg *.jpeg *.tif *.tiff);;All files (*)"
_CANDIDATES: Final = "Inserts (*.csv *.json);;All files (*)"


def _open(window: QWidget, title: str, filters: str) -> Path | None:
    name, _ = QFileDialog.getOpenFileName(window, title, settings.FOLDER.get(), filters)
    if not name:
        return None
    settings.FOLDER.put(str(Path(name).parent))
    return Path(name)


def _ask_drawing(window: QWidget) -> Path | None:
    return _open(window, "Open an outline file", _DRAWINGS)


def _ask_picture(window: QWidget) -> Path | None:
    return _open(window, "Open a picture", _PICTURES)


def _ask_candidates(window: QWidget) -> Path | None:
    return _open(window, "Open a list of inserts", _CANDIDATES)


def _ask_candidates_target(window: QWidget) -> Path | None:
    name, _ = QFileDialog.getSaveFileName(
        window,
        "Add to the list of inserts",
        settings.FOLDER.get(),
        _CANDIDATES,
        options=QFileDialog.Option.DontConfirmOverwrite,  # it is added to, not replaced
    )
    return Path(name) if name else None


def _ask_open(window: QWidget, folder: Path) -> Path | None:
    name, _ = QFileDialog.getOpenFileName(window, "Open a project", str(folder), _PROJECTS)
    return Path(name) if name else None


def _ask_save(window: QWidget, suggested: Path) -> Path | None:
    name, _ = QFileDialog.getSaveFileName(window, "Save the project", str(suggested), _PROJECTS)
    return Path(name) if name else None


def _ask_folder(window: QWidget, folder: Path) -> Path | None:
    name = QFileDialog.getExistingDirectory(window, "Folder for the outlines", str(folder))
    return Path(name) if name else None


def _box(window: QWidget, icon: QMessageBox.Icon, text: str, title: str = "") -> QMessageBox:
    """A box in which names are names, whatever they look like."""
    box = QMessageBox(icon, title, text, QMessageBox.StandardButton.NoButton, window)
    box.setTextFormat(Qt.TextFormat.PlainText)
    return box


def _ask_unsaved(window: QWidget, name: str) -> Unsaved:
    box = _box(window, QMessageBox.Icon.Question, f"“{name}” has changes that are not saved.")
    box.setInformativeText("Save them before going on?")
    buttons = QMessageBox.StandardButton
    box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
    box.setDefaultButton(buttons.Save)
    answers = {buttons.Save: Unsaved.SAVE, buttons.Discard: Unsaved.DISCARD}
    return answers.get(buttons(box.exec()), Unsaved.CANCEL)


def _ask_overtaken(window: QWidget, path: Path) -> Overtaken:
    box = _box(window, QMessageBox.Icon.Warning, f"{path.name} was changed on disk after it was opened here.")
    box.setInformativeText(
        "Saving replaces what another program wrote. That version stays beside it, with ~ behind its name."
    )
    replace = box.addButton("Replace it", QMessageBox.ButtonRole.DestructiveRole)
    other = box.addButton("Save as …", QMessageBox.ButtonRole.AcceptRole)
    box.addButton(QMessageBox.StandardButton.Cancel)
    box.exec()
    if box.clickedButton() is replace:
        return Overtaken.REPLACE
    return Overtaken.SAVE_AS if box.clickedButton() is other else Overtaken.CANCEL


def _ask_replace(window: QWidget, what: str) -> bool:
    box = _box(window, QMessageBox.Icon.Warning, "Replace what is in the folder with the new outlines?")
    box.setInformativeText(f"{what}.")
    replace = box.addButton("Replace them", QMessageBox.ButtonRole.DestructiveRole)
    box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
    box.exec()
    return box.clickedButton() is replace


def _tell(window: QWidget, title: str, text: str) -> None:
    box = _box(window, QMessageBox.Icon.Warning, title, title)
    # A box is only as wide as its title line; a path and what to do would stand in a narrow column.
    box.setInformativeText(text)
    grid = box.layout()
    assert isinstance(grid, QGridLayout)
    wide = box.fontMetrics().averageCharWidth() * _TOLD_CHARS
    grid.addItem(QSpacerItem(wide, 0, QSizePolicy.Policy.Minimum), grid.rowCount(), 0, 1, grid.columnCount())
    box.exec()


def _inform(window: QWidget, title: str, text: str) -> None:
    box = _box(window, QMessageBox.Icon.NoIcon, title, title)
    box.setInformativeText(text)
    box.exec()


def _ask_printer(window: QWidget) -> QPrinter | None:
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter  # noqa: PLC0415 - the start need not wait for it

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPageOrientation(QPageLayout.Orientation.Landscape)
    dialog = QPrintDialog(printer, window)
    return printer if dialog.exec() == QPrintDialog.DialogCode.Accepted else None


def _open_folder(folder: Path) -> bool:
    return QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))


REAL: Final = Dialogs(
    _ask_open,
    _ask_save,
    _ask_folder,
    _ask_unsaved,
    _ask_overtaken,
    _ask_replace,
    _tell,
    _open_folder,
    _ask_printer,
    _inform,
    MeasuringDialogs(_ask_drawing, _ask_picture, _ask_candidates, _ask_candidates_target),
)
"""The questions as Qt's own dialogs."""
