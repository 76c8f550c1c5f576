"""Figures that belong to the scan and not to the project: a true distance, a diameter, dots per inch."""

from __future__ import annotations

from enum import Enum
from math import isfinite
from typing import TYPE_CHECKING, Final

from app.widgets.source import FigureOfPage
from core.words.errors import UserError
from core.words.lengths import Style, parse_length, show_length, unit_of

if TYPE_CHECKING:
    from PySide6.QtCore import QObject

    from app.session.session import Session

_MOST: Final = 10_000.0  # mm or dots per inch: beyond is a typing mistake


class Figure(Enum):
    """What is typed into an entry."""

    LENGTH = "length"
    ALLOWANCE = "allowance"
    DOTS = "dots per inch"


def entry_source(
    session: Session, words: tuple[str, str], figure: Figure, parent: QObject, *, is_needed: bool = False
) -> FigureOfPage:
    """A figure above 0 (an allowance may be 0), or nothing, where it is not needed; ``words`` are label and meaning."""

    def read(text: str, style: Style) -> float | None:
        if text.strip():
            return _read(text, words[0], figure, style)
        if is_needed:
            raise UserError(words[0], "this needs a figure", hint="Escape gives back the one before.")
        return None

    def show(value: float, style: Style, with_unit: bool) -> str:  # noqa: FBT001 - as `FigureOfPage` calls it
        if figure is Figure.DOTS:
            return f"{value:.6g}" + (f" {figure.value}" if with_unit else "")
        if figure is Figure.ALLOWANCE and style is Style.FRACTION:
            style = Style.INCH  # a part of a 64th
        return show_length(value, style, with_unit=with_unit)

    made = FigureOfPage(words, lambda: session.project.style, read, show, parent)
    made.is_length = figure is not Figure.DOTS
    return made


def _read(text: str, name: str, figure: Figure, style: Style) -> float:
    if figure is not Figure.DOTS:
        value = parse_length(text, unit_of(style))
    else:
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            raise UserError(name, f"“{text}” is not a number", hint="Write one such as 300.") from None
    if figure is Figure.ALLOWANCE and value == 0.0:
        return value
    if not isfinite(value) or value <= 0.0:
        raise UserError(name, "this must be more than 0", hint="Measure it, or leave the field empty.")
    if value > _MOST:
        raise UserError(name, "this is too large", hint="Look for a slip of the decimal mark.")
    return value
