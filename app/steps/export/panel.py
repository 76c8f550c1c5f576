"""Writing the outlines: where, in which forms, how far it is, and what was written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.session import settings
from app.session.background import Job, failure_text
from app.widgets.labels import Heading, QuietLabel, Refusal, Words
from app.widgets.layouts import bare
from core.files.report.report import CAUTIONS
from core.part.project import Mode
from core.words.lengths import shower
from core.words.verdicts import Verdict, counted

if TYPE_CHECKING:
    from app.session.background import Tick
    from app.session.session import Session
    from app.steps.dialogs import Dialogs
    from core.files.outlines.exported import ExportReport
    from core.part.project import Project

# Those of cutting, and those that hold for every casting; the others stand on the sheets and at the fit.
_CAUTIONS_HERE = (*CAUTIONS[1:4], *CAUTIONS[-2:])


class ExportPanel(QWidget):
    """The form that writes the outlines, beside the drawing.

    Attributes:
        written: the `ExportReport`, when all files are written and checked.
        left: the user wants the step back.
    """

    written = Signal(object)
    left = Signal()

    def __init__(self, session: Session, dialogs: Dialogs, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._dialogs = session, dialogs
        self._report: ExportReport | None = None
        self._written_of: Project | None = None
        self._job = Job(self, self._done, self._failed)
        self.folder = QLineEdit(self)
        self.folder.setAccessibleName("Folder for the outlines")
        self.choose_button = QPushButton("Choose …", self)
        self.older = QCheckBox("also in the older R12 form", self)
        self.older.setChecked(settings.EXPORT_OLD_FORM.get())
        self.old_outlines = QCheckBox("with the old outlines, on layers of their own", self)
        self.old_outlines.setChecked(settings.EXPORT_OLD_OUTLINES.get())
        self.write_button = QPushButton("Write and check", self)
        self.write_button.setProperty("filled", True)
        self.cancel_button = QPushButton("Call it off", self)
        self.progress = QProgressBar(self)
        self.progress.setRange(0, 100)
        self._job.progressed.connect(lambda part: self.progress.setValue(round(100 * part)))
        self.trouble = Refusal(self)
        self.files = QListWidget(self)
        self.files.setAccessibleName("Files written")
        self.files.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.summary = Words("", self)
        self.open_button = QPushButton("Open the folder", self)
        self.warning = Refusal(self)
        self._lay_out()
        self.write_button.clicked.connect(lambda _checked=False: self.write())
        self.cancel_button.clicked.connect(self.call_off)
        self.open_button.clicked.connect(self._open_folder)
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        session.replaced.connect(self._start_anew)
        self._start_anew()
        self._refresh()

    def _lay_out(self) -> None:
        column = bare(QVBoxLayout(self))
        column.addWidget(Heading("Write the outlines", self))
        self._size_kind = QuietLabel("", self, wrap=True)
        column.addWidget(self._size_kind)
        row = QHBoxLayout()
        row.addWidget(self.folder, 1)
        self.choose_button.clicked.connect(self._choose)
        label = QLabel("Folder", self)
        label.setBuddy(self.folder)
        column.addWidget(label)
        row.addWidget(self.choose_button)
        column.addLayout(row)
        column.addWidget(self.older)
        column.addWidget(self.old_outlines)
        column.addWidget(self.warning)
        row = QHBoxLayout()
        row.addWidget(self.write_button)
        row.addWidget(self.cancel_button)
        row.addStretch(1)
        column.addLayout(row)
        column.addWidget(self.progress)
        column.addWidget(self.trouble)
        self._written_head = Heading("Written", self)
        for widget in (self._written_head, self.summary, self.files, self.open_button):
            column.addWidget(widget)
        column.addWidget(Heading("With care", self))
        for caution in _CAUTIONS_HERE:
            column.addWidget(QuietLabel(caution, self, wrap=True))
        back = QPushButton("Back to the fit", self)
        back.clicked.connect(self.left)
        column.addWidget(back, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
        for button in self.findChildren(QPushButton):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)

    @property
    def is_writing(self) -> bool:
        """Whether files are being written."""
        return self._job.is_running

    def write(self, *, replace: bool = False) -> None:
        """Write the outlines beside the window; a folder that is not there is made."""
        if not self.folder.text().strip():
            self.trouble.tell("No folder is named yet. Choose one, or type its name.")
            return
        folder = Path(self.folder.text().strip()).expanduser()
        settings.EXPORT_FOLDER.put(str(folder))
        settings.EXPORT_OLD_FORM.put(self.older.isChecked())
        settings.EXPORT_OLD_OUTLINES.put(self.old_outlines.isChecked())
        result, with_older, with_old = self._session.result, self.older.isChecked(), self.old_outlines.isChecked()

        def work(tick: Tick) -> ExportReport:
            from core.files.outlines.dxf_write import DxfVersion  # noqa: PLC0415 - only when something is written
            from core.files.outlines.export import export  # noqa: PLC0415

            versions = (DxfVersion.R2010, DxfVersion.R12) if with_older else (DxfVersion.R2010,)
            return export(result, folder, versions=versions, with_old=with_old, replace=replace, tick=tick)

        self.trouble.tell("")
        self.progress.setValue(0)
        self._written_of = result.project
        self._job.submit(work)
        self._show_state()

    def call_off(self) -> None:
        """Stop writing; the folder is left as it was."""
        self._job.cancel()
        self.trouble.tell("Called off: nothing was written.")
        self._show_state()

    def close_down(self) -> None:
        """Wait for the writer: for the window's end."""
        self._job.close()

    def _done(self, report: ExportReport) -> None:
        self._report = report
        self.files.clear()
        self.files.addItems(report.files)
        n = len([r for r in report.rings if r.is_cut])
        to_cut = f"{counted(n, 'outline')} to cut"
        # In any unit: shown as a length it would read 0.00; and below that it is rounding.
        worst = f"{report.worst_mm * 1000.0:.1f} µm" if report.worst_mm >= 1e-4 else "under 0.1 µm"
        self.summary.setText(
            f"{counted(len(report.files), 'file')}, {to_cut}, all read back and compared with the design; "
            f"worst deviation {worst}. Print {report.to_print} 1:1 and lay the real insert on it before you "
            f"cut. {' '.join(report.remarks)}".strip()
        )
        row = self.files.sizeHintForRow(0) if self.files.count() else 0
        self.files.setFixedHeight(row * max(self.files.count(), 1) + 2 * self.files.frameWidth())
        self._show_state()
        self.written.emit(report)
        self._refresh()  # the design may have changed while the files were written

    def _failed(self, error: Exception) -> None:
        from core.files.outlines.export import WouldReplaceError  # noqa: PLC0415 - only when something is written

        self._show_state()
        if isinstance(error, WouldReplaceError):
            if self._dialogs.ask_replace(self.window(), error.what):
                self.write(replace=True)
            else:
                self.trouble.tell("Nothing was written: what is there already was kept. Choose another folder.")
            return
        self.trouble.tell(f"Nothing was written. {failure_text(error, shower(self._session.project.style))}")

    def _start_anew(self) -> None:
        self._report = None
        remembered = settings.EXPORT_FOLDER.get()
        own = "" if self._session.path is None else str(self._session.path.parent)
        self.folder.setText(remembered or own)
        self.trouble.tell("")
        self._show_state()

    def _refresh(self) -> None:
        rework = self._session.project.choices.mode is Mode.REWORK
        self._size_kind.setText(
            "The castings' outlines after machining, 1:1."
            if rework
            else "Finished sizes, 1:1: contraction and finishing allowance are not in them."
        )
        if self._report is not None and self._written_of != self._session.project:
            self._report = None
            self.trouble.tell("The design has changed since the outlines were written: write them again.")
            self._show_state()
        bad = self._session.is_judged and self._session.result.overall is Verdict.NO_GO
        self.warning.tell("The fit is a no-go; the files will say so in capitals." if bad else "")

    def _show_state(self) -> None:
        writing, has_report = self.is_writing, self._report is not None
        asked: tuple[QWidget, ...] = (self.folder, self.choose_button, self.older, self.old_outlines, self.write_button)
        for widget in asked:
            widget.setEnabled(not writing)
        self.cancel_button.setVisible(writing)
        self.progress.setVisible(writing)
        for widget in (self._written_head, self.summary, self.files, self.open_button):
            widget.setVisible(has_report and not writing)

    def _choose(self) -> None:
        start = Path(self.folder.text()) if self.folder.text() else Path.home()
        chosen = self._dialogs.ask_folder(self.window(), start)
        if chosen is not None:
            self.folder.setText(str(chosen))
            self.trouble.tell("")

    def _open_folder(self) -> None:
        if self._report is not None and not self._dialogs.open_folder(self._report.folder):
            self.trouble.tell(f"The folder could not be opened from here: {self._report.folder}")
