"""Light, dark, or as the system: the application's palette and what is remembered of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtGui import QFont, QPalette
from PySide6.QtWidgets import QApplication, QToolTip

from app.session.settings import SCHEME, Scheme, _store
from app.widgets.style.appearance import apply, follow
from app.widgets.theme import ink, table_ink

if TYPE_CHECKING:
    from collections.abc import Iterator


@pytest.fixture
def application(qapp: QApplication) -> Iterator[QApplication]:
    yield qapp
    qapp.setStyle("Fusion")
    qapp.setFont(QFont())
    qapp.styleHints().unsetColorScheme()
    qapp.setPalette(QPalette())
    QToolTip.setPalette(QPalette())


def test_light_and_dark_are_the_tables_and_the_system_has_its_own_again(application: QApplication) -> None:
    before = ink(application.palette())
    for scheme, dark in ((Scheme.DARK, True), (Scheme.LIGHT, False)):
        apply(application, scheme)
        inks = table_ink(dark=dark)
        palette = application.palette()
        assert palette.color(QPalette.ColorRole.Window) == inks.ground
        assert palette.color(QPalette.ColorRole.Base) == inks.field
        assert ink(palette) == inks
    apply(application, Scheme.SYSTEM)
    assert ink(application.palette()) == before


def test_the_choice_is_remembered_and_a_bad_one_is_the_systems(application: QApplication) -> None:
    SCHEME.put(Scheme.DARK)
    follow(application)
    assert ink(application.palette()) == table_ink(dark=True)
    _store().setValue("show/colours", "mauve")
    assert SCHEME.get() is Scheme.SYSTEM
