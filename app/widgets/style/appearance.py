"""The application's palette: the inks of light, of dark, or of the system's own palette."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QToolTip

from app.session.settings import SCHEME, Scheme
from app.widgets.fonts import figures
from app.widgets.style.style import CalmStyle
from app.widgets.theme import ink, table_ink

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from app.widgets.theme import Ink

_HINTS: Final = {
    Scheme.SYSTEM: Qt.ColorScheme.Unknown,
    Scheme.LIGHT: Qt.ColorScheme.Light,
    Scheme.DARK: Qt.ColorScheme.Dark,
}
_ROLES: Final = {
    QPalette.ColorRole.Window: "ground",
    QPalette.ColorRole.Base: "field",
    QPalette.ColorRole.AlternateBase: "paper",
    QPalette.ColorRole.Button: "ground",
    QPalette.ColorRole.ToolTipBase: "field",
    QPalette.ColorRole.Highlight: "highlight",
    QPalette.ColorRole.HighlightedText: "field",
    QPalette.ColorRole.PlaceholderText: "quiet",
    QPalette.ColorRole.WindowText: "text",
    QPalette.ColorRole.Text: "text",
    QPalette.ColorRole.ButtonText: "text",
    QPalette.ColorRole.ToolTipText: "text",
    QPalette.ColorRole.BrightText: "no_go",
    QPalette.ColorRole.Link: "highlight",
    QPalette.ColorRole.LinkVisited: "highlight",
    QPalette.ColorRole.Light: "field",
    QPalette.ColorRole.Midlight: "paper",
    QPalette.ColorRole.Mid: "neutral",
    QPalette.ColorRole.Dark: "ghost",
    QPalette.ColorRole.Shadow: "ghost",
}
_DIMMED: Final = (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText)


def palette_of(inks: Ink) -> QPalette:
    """The palette that everything of Qt's own is painted with."""
    palette = QPalette()
    for role, name in _ROLES.items():
        palette.setColor(role, getattr(inks, name))
    for role in _DIMMED:
        palette.setColor(QPalette.ColorGroup.Disabled, role, inks.quiet)
    return palette


def apply(application: QApplication, scheme: Scheme) -> None:
    """Colour the whole application, at once and for what is made later."""
    hints = application.styleHints()
    if hasattr(hints, "setColorScheme"):  # from Qt 6.8 on; the title bar and the system's dialogs go with it
        hints.setColorScheme(_HINTS[scheme])
    application.setPalette(QPalette())  # the system's own again
    inks = ink(application.palette()) if scheme is Scheme.SYSTEM else table_ink(dark=scheme is Scheme.DARK)
    palette = palette_of(inks)
    application.setPalette(palette)
    QToolTip.setPalette(palette)


def follow(application: QApplication) -> None:
    """Look as the setting says, now and when the system turns light or dark."""
    application.setStyle(CalmStyle())
    application.setFont(figures(application.font()))
    apply(application, SCHEME.get())
    application.styleHints().colorSchemeChanged.connect(lambda _scheme: apply(application, SCHEME.get()))
