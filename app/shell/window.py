"""The window: menus in plain words, the start page or the board, and the line at its foot."""

from __future__ import annotations

from functools import partial
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, assert_never

from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QDragEnterEvent, QDropEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QHBoxLayout, QMainWindow, QMenu, QStackedWidget, QWidget

from app.session import settings
from app.session.journal import left_behind
from app.session.session import Session
from app.session.settings import SCHEME, Scheme
from app.session.words import style_word
from app.shell.dropped import REFUSAL, Dropped, dropped
from app.shell.files_flow import FilesFlow
from app.shell.looking import Looking, keys_text
from app.shell.rail import TITLES
from app.shell.real_dialogs import REAL
from app.shell.said import Said
from app.widgets.explain import explain_widget
from app.widgets.labels import QuietLabel
from app.widgets.plain import on_button
from app.widgets.style.appearance import follow
from app.widgets.switch import Switch
from core.evaluate import evaluate
from core.files.publish import finish
from core.part.fields import fields_of
from core.part.project import Project
from core.words.ends import End
from core.words.errors import UserError
from core.words.lengths import Style
from core.words.verdicts import counted

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.shell.drawing_page import DrawingPage
    from app.shell.start_page import StartPage
    from app.shell.workspace import Workspace
    from app.steps.dialogs import Dialogs
    from core.evaluate import Result

ABOUT = (
    "Seatwright resizes a cast housing around a new purchased insert, checks the fit before anything is cut, and "
    "writes the outlines. Local codes, the makers' data sheets and licensed practice come before anything it says."
)
_SAID_MS = 6000
DRAWING, SCAN = "drawing", "scan"
_STYLE = fields_of(Project)["style"]


class MainWindow(QMainWindow):
    """One window with one project, or with the start page."""

    def __init__(self, project: Project | None = None, path: Path | None = None, *, dialogs: Dialogs = REAL) -> None:
        """A window for a project that was read from ``path``.

        Raises:
            UserError: its sizes make no housing.
        """
        super().__init__()
        self.dialogs = dialogs
        self.looking = Looking(lambda: self.workspace)
        self.setAcceptDrops(True)
        self.flow = FilesFlow(self, dialogs, self._show_project)
        self.workspace: Workspace | None = None
        self.stack = QStackedWidget(self)
        self.setCentralWidget(self.stack)
        self.start_page: StartPage | None = None
        self.drawing_page: DrawingPage | None = None
        self._for_board: list[QAction] = []
        self._build_menus()
        self._build_bar()
        self._size_up()
        if project is None:
            self.show_start()
        else:
            self._show_project(project, path, evaluate(project))
            self.flow.note(path)
            if path is not None:
                settings.remember_recent(path)
            if left_behind():
                self.say("There is a part that was not saved when the program ended: see the start page.")
        if cut_off := _finished():
            self.say(cut_off)

    @property
    def session(self) -> Session | None:
        """The open project; None on a start page that nothing was opened from."""
        return None if self.workspace is None else self.workspace.session

    # The two pages

    def show_start(self) -> None:
        """Show the start page; the open project stays open behind it."""
        self._drop_drawing_page()
        if self.start_page is None:
            from app.shell.start_page import StartPage  # noqa: PLC0415 - as the board

            page = self.start_page = StartPage(self)
            page.demo_chosen.connect(self.flow.open_demo)
            page.part_described.connect(self._begin)
            page.file_chosen.connect(self.flow.open)
            page.open_asked.connect(self.flow.open)
            page.drawing_asked.connect(self.show_drawing_page)
            page.back_asked.connect(self.show_board)
            page.recover_asked.connect(self.flow.recover)
            self.stack.addWidget(page)
        self.start_page.refresh("" if self.session is None else self.session.project.name)
        self.stack.setCurrentWidget(self.start_page)
        self._refresh()

    def show_drawing_page(self) -> None:
        """Show the page that makes a part of an old outline file."""
        if self.drawing_page is None:
            from app.shell.drawing_page import DrawingPage  # noqa: PLC0415 - as the board

            assert self.start_page is not None
            page = self.drawing_page = DrawingPage(self.dialogs.measuring, self.start_page.draft.project.style, self)
            page.part_made.connect(self._begin)
            page.back_asked.connect(self.show_start)
            self.stack.addWidget(page)
        self.stack.setCurrentWidget(self.drawing_page)
        self._refresh()

    def _drop_drawing_page(self) -> None:
        """The drawing has become a part, or was left: the next one begins empty."""
        if self.drawing_page is not None:
            self.drawing_page.close_down()
            self.stack.removeWidget(self.drawing_page)
            self.drawing_page.deleteLater()
            self.drawing_page = None

    def show_board(self) -> None:
        """Show the open project."""
        if self.workspace is not None:
            self.stack.setCurrentWidget(self.workspace)
            self._refresh()

    def _begin(self, project: Project) -> None:
        if self.flow.may_leave():
            self.flow.take(project, None, is_new=True)

    def _show_project(self, project: Project, path: Path | None, result: Result) -> None:
        if self.workspace is None:
            self._build_board(project, path, result)
        else:
            self.workspace.session.open(project, path, result)
        self.show_board()
        self._drop_drawing_page()

    def _build_board(self, project: Project, path: Path | None, result: Result) -> None:
        # Deferred: the start page must not wait for the drawings' modules.
        from app.shell.workspace import Workspace  # noqa: PLC0415

        session = Session(project, self, path=path, result=result)
        self.flow.attend(session, self.say)
        board = self.workspace = Workspace(session, self.dialogs, self)
        self.stack.addWidget(board)
        board.setFocus(Qt.FocusReason.OtherFocusReason)
        board.part_made.connect(self._begin)
        session.changed.connect(self._refresh)
        session.refused.connect(self._say_refusal)
        session.busy_changed.connect(self._show_busy)
        session.shown_end_changed.connect(self._refresh)
        session.undo_stack.cleanChanged.connect(self._refresh)
        session.undo_stack.indexChanged.connect(self._refresh)
        board.forms.currentChanged.connect(self._refresh)
        board.written.connect(lambda report: self.say(f"{counted(len(report.files), 'file')} written and checked."))

    # Menus

    def _build_menus(self) -> None:
        keys = QKeySequence.StandardKey
        file = self.menuBar().addMenu("&File")
        self.start_action = self._action(file, "&Start page", self.show_start, keys.New)
        self.back_action = self._action(file, "&Back to the project", self.show_board, "Ctrl+B", board=True)
        self.open_action = self._action(file, "&Open …", self.flow.open, keys.Open)
        self.recent_menu = file.addMenu("Open &recent")
        self.recent_menu.aboutToShow.connect(self._fill_recent)
        file.addSeparator()
        self.save_action = self._action(file, "&Save", self._save, keys.Save, board=True)
        self._action(file, "Save &as …", self._save_as, "Ctrl+Shift+S", board=True)
        file.addSeparator()
        self.export_action = self._action(file, "&Write the outlines …", self._export, "Ctrl+E", board=True)
        self.print_action = self._action(file, "&Print what is seen …", self._print, keys.Print, board=True)
        self._action(file, "&Copy the picture", self._copy, "Ctrl+Shift+C", board=True)
        file.addSeparator()
        self._action(file, "&Quit", self.close, keys.Quit)

        edit = self.menuBar().addMenu("&Edit")
        self.undo_action = self._action(edit, "&Undo", self._undo, keys.Undo)
        self.redo_action = self._action(edit, "&Redo", self._redo, keys.Redo)

        self._build_view(self.menuBar().addMenu("&View"))
        help_menu = self.menuBar().addMenu("&Help")
        self._action(help_menu, "&What is this?", self.explain, "F1")
        self._action(help_menu, "&Keys", lambda: self.dialogs.inform(self, "Keys", keys_text()))
        self._action(
            help_menu, "&About Seatwright", lambda: self.dialogs.inform(self, f"Seatwright {_version()}", ABOUT)
        )

    def _build_view(self, view: QMenu) -> None:
        self.step_actions = [
            self._action(view, f"&{i + 1} {title}", partial(self._go_to, i), f"Ctrl+{i + 1}", board=True)
            for i, title in enumerate(TITLES)
        ]
        steps = QActionGroup(self)
        for action in self.step_actions:
            action.setCheckable(True)
            steps.addAction(action)
        view.addSeparator()
        self.end_actions = {
            end: self._action(view, f"Show the {end}", partial(self._show_end, end), key, board=True)
            for end, key in ((End.BASE, "Alt+B"), (End.LID, "Alt+L"))
        }
        ends = QActionGroup(self)
        for action in self.end_actions.values():
            action.setCheckable(True)
            ends.addAction(action)
        view.addSeparator()
        keys, looking = QKeySequence.StandardKey, self.looking
        self._action(view, "Zoom &in", looking.zoom_in, keys.ZoomIn, board=True)
        self._action(view, "Zoom &out", looking.zoom_out, keys.ZoomOut, board=True)
        self._action(view, "&Whole part", looking.whole, "Ctrl+0", board=True)
        self.alone_action = self._action(view, "This view &alone", looking.alone, "F11", board=True)
        view.addSeparator()
        self._action(view, "Next &part of the window", looking.next_part, "F6", board=True)
        self._action(view, "Part &before it", lambda: looking.next_part(-1), "Shift+F6", board=True)
        self._action(view, "Go to the &list", self._go_to_checks, "Ctrl+J", board=True)
        self._action(view, "Go to the &drawing", self._go_to_drawing, "Ctrl+D", board=True)
        view.addSeparator()
        colours = view.addMenu("&Colours")
        self.scheme_actions = {
            scheme: self._action(colours, word, partial(self._set_scheme, scheme))
            for scheme, word in ((Scheme.SYSTEM, "As the &system"), (Scheme.LIGHT, "&Light"), (Scheme.DARK, "&Dark"))
        }
        schemes = QActionGroup(self)
        for scheme, action in self.scheme_actions.items():
            action.setCheckable(True)
            action.setChecked(scheme is SCHEME.get())
            schemes.addAction(action)
        units = view.addMenu("Show &lengths in")
        self.unit_actions = {
            style: self._action(units, style_word(style), partial(self.set_style, style), board=True) for style in Style
        }
        group = QActionGroup(self)
        for action in self.unit_actions.values():
            action.setCheckable(True)
            group.addAction(action)

    def _action(
        self,
        menu: QMenu,
        text: str,
        do: Callable[[], object],
        keys: QKeySequence.StandardKey | str | None = None,
        *,
        board: bool = False,
    ) -> QAction:
        action = QAction(text, self)
        if isinstance(keys, str):
            action.setShortcut(QKeySequence(keys))
        elif keys is not None:
            action.setShortcuts(keys)  # all that this desktop has for it
        action.triggered.connect(lambda _checked=False: do())
        menu.addAction(action)
        if board:
            self._for_board.append(action)
        return action

    def _fill_recent(self) -> None:
        self.recent_menu.clear()
        for path in settings.RECENT.get():
            self.recent_menu.addAction(on_button(path.name)).triggered.connect(
                lambda _checked=False, p=path: self.flow.open(p)
            )
        if self.recent_menu.isEmpty():
            self.recent_menu.addAction("none yet").setEnabled(False)

    # The bar

    def _build_bar(self) -> None:
        """Units and messages at the right of the menus: there is no other bar."""
        bar = QWidget(self)
        row = QHBoxLayout(bar)
        row.setContentsMargins(0, 0, self.fontMetrics().height(), 0)
        self.busy = QuietLabel("computing …", self)
        self.busy.hide()
        self.units = Switch([(str(s), _STYLE.word(s)) for s in Style], "Lengths in", self)
        self.units.chosen.connect(lambda key: self.set_style(Style(key)))
        self.units_label = QuietLabel("Lengths in", self)
        for widget in (self.busy, self.units_label, self.units):
            row.addWidget(widget)
        self.menuBar().setCornerWidget(bar)
        self.hint = Said(self.stack)
        self._hush = QTimer(self, singleShot=True, interval=_SAID_MS)
        self._hush.timeout.connect(self.hint.clear)

    def say(self, text: str) -> None:
        """Say something at the foot of the sheet, for a while."""
        self.hint.say(text)
        self._hush.start()

    def _say_refusal(self, path: str, message: str) -> None:
        if not path:  # a field says its own
            self.say(message)

    def _show_busy(self, is_busy: bool) -> None:  # noqa: FBT001 - the session's signal carries it
        self.busy.setVisible(is_busy)

    # What the actions do

    def set_style(self, style: Style) -> None:
        """Show lengths in another unit; an edit like any other, kept in the project."""
        if self.session is not None:
            self.session.set_value("style", str(style), f"lengths in {_STYLE.word(style)}")
            self._refresh()

    def _set_scheme(self, scheme: Scheme) -> None:
        SCHEME.put(scheme)
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        follow(application)
        self.scheme_actions[scheme].setChecked(True)

    def explain(self) -> None:
        """Open the sheet of what has the focus."""
        if explain_widget(QApplication.focusWidget()) is None:
            self.say("Click a field, a check or a change first, then press F1.")

    def _save(self) -> None:
        if self.flow.save():
            self.say("Saved.")
        self._refresh()

    def _save_as(self) -> None:
        if self.flow.save_as():
            self.say("Saved.")
        self._refresh()

    def _export(self) -> None:
        if self.workspace is not None:
            self.show_board()
            self.workspace.show_export()

    def _undo(self) -> None:
        if self.session is not None:
            self.session.undo()

    def _redo(self) -> None:
        if self.session is not None:
            self.session.undo_stack.redo()

    def _go_to(self, number: int) -> None:
        if self.workspace is not None:
            self.show_board()
            self.workspace.go_to(number)

    def _show_end(self, end: End) -> None:
        if self.session is not None:
            self.session.show_end(end)
        self._refresh()

    def _go_to_checks(self) -> None:
        if self.workspace is not None:
            self.workspace.go_to_list()

    def _go_to_drawing(self) -> None:
        if self.workspace is not None:
            self.workspace.plan.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _print(self) -> None:
        printer = self.dialogs.ask_printer(self)
        if printer is not None and self.session is not None:
            project = self.session.project
            self.looking.print_on(printer, f"{project.name}, {self.session.shown_end}; not to scale")
            self.say("Printed.")

    def _copy(self) -> None:
        if self.looking.copy():
            self.say("The picture is on the clipboard.")

    # Files that are dropped

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        found = dropped(event.mimeData())
        if found is None:
            self.say(REFUSAL)
            return
        kind, path = found
        match kind:
            case Dropped.PROJECT:
                self.flow.open(path)
            case Dropped.OUTLINES:
                self._open_outlines(path)
            case Dropped.PICTURE:
                self._open_picture(path)
            case _:
                assert_never(kind)

    def _open_outlines(self, path: Path) -> None:
        if self.workspace is not None and self.stack.currentWidget() is self.workspace:
            self.workspace.open_measured(DRAWING, path)
            return
        self.show_start()
        self.show_drawing_page()
        assert self.drawing_page is not None
        self.drawing_page.open(path)

    def _open_picture(self, path: Path) -> None:
        if self.workspace is None:
            self.say("Open or begin a part first; then its picture can be dropped here.")
            return
        self.show_board()
        self.workspace.open_measured(SCAN, path)

    # Keeping up to date

    def _refresh(self) -> None:
        session, board = self.session, self.workspace
        is_board = board is not None and self.stack.currentWidget() is board
        for action in self._for_board:
            action.setEnabled(session is not None)
        self.back_action.setVisible(session is not None and not is_board)
        self.units.setVisible(is_board)
        self.units_label.setVisible(is_board)
        stack = None if session is None else session.undo_stack
        self.undo_action.setEnabled(stack is not None and stack.canUndo())
        self.redo_action.setEnabled(stack is not None and stack.canRedo())
        self.undo_action.setText(
            f"&Undo {on_button(stack.undoText())}" if stack is not None and stack.canUndo() else "&Undo"
        )
        self.redo_action.setText(
            f"&Redo {on_button(stack.redoText())}" if stack is not None and stack.canRedo() else "&Redo"
        )
        if session is None or board is None:
            self.setWindowTitle("Seatwright")
            return
        self.units.put(str(session.project.style))
        self.unit_actions[session.project.style].setChecked(True)
        self.end_actions[session.shown_end].setChecked(True)
        self.end_actions[End.LID].setEnabled(session.project.housing.lid is not None)
        self.step_actions[board.step_number].setChecked(True)
        self.setWindowModified(self.flow.is_dirty)
        names = session.project.name if session.path is None else f"{session.project.name} · {session.path.name}"
        self.setWindowTitle(f"{names.replace('[*]', '[*][*]')}[*] – Seatwright")

    def _size_up(self) -> None:
        geometry = settings.GEOMETRY.get()
        if not (geometry and self.restoreGeometry(geometry)):
            # With the frame round it, whose width nobody knows before it is shown: two lines at the sides, four in all.
            room, line = self.screen().availableGeometry(), self.fontMetrics().height()
            self.resize(min(1600, room.width() - 2 * line), min(1000, room.height() - 4 * line))

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow() and self.flow.was_overtaken:
            self.say("Another program has changed this project's file; saving will ask what to do.")

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.flow.may_leave():
            event.ignore()
            return
        settings.GEOMETRY.put(bytes(self.saveGeometry().data()))
        self._drop_drawing_page()
        if self.flow.journal is not None:
            self.flow.journal.close()
        if self.workspace is not None:
            self.workspace.close_down()
        event.accept()


def _version() -> str:
    """As it was installed; empty in a tree that was not."""
    try:
        return version("seatwright")
    except PackageNotFoundError:
        return ""


def _finished() -> str:
    """What an export that was killed had left to be done, finished before anything else; a sentence, or empty."""
    folder = settings.EXPORT_FOLDER.get()
    try:
        return finish(Path(folder)) if folder else ""
    except UserError as error:
        return str(error)
