"""Lengths as people write and read them: millimetres, decimal inches and fractions of an inch.

Inches exist only here and on screen; everything else computes in millimetres.

Words used below:
    sign: + or -, before a term or between two.
    unit sign: what names the unit, e.g. ``mm``, ``in``, ``"``.
    term: one number with or without a unit sign; without one it is *bare*.
    mixed number: a whole number and a fraction, e.g. 9 3/16.

Source: 1 in = 25.4 mm and 1 ft = 0.3048 m exactly, NIST SP 811, appendix B.
"""

import re
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from math import ceil, isfinite
from typing import Final

from core.words.errors import LengthError, Show


class Unit(StrEnum):
    """The project's unit: what a bare number is in."""

    MM = "mm"
    INCH = "in"


class Style(StrEnum):
    """How lengths are shown."""

    MM = "mm"
    INCH = "in"
    FRACTION = "fraction"


LONGEST_TEXT: Final = 60
"""More characters than this are not read as a length."""

_MM, _CM, _M = Fraction(1), Fraction(10), Fraction(1000)
_INCH = Fraction(254, 10)
_FOOT = 12 * _INCH
_UNIT_MM: Final = {Unit.MM: _MM, Unit.INCH: _INCH}
_SIGN_MM: Final = {
    **dict.fromkeys(("mm",), _MM),
    **dict.fromkeys(("cm",), _CM),
    **dict.fromkeys(("m",), _M),
    **dict.fromkeys(("in", "inch", "inches", '"', "″", "”", "''", "′′"), _INCH),
    **dict.fromkeys(("ft", "foot", "feet", "'", "′", "’"), _FOOT),
}
_SMALL_MM: Final = 5.0  # what is off by more is no question of sixty-fourths
_STEPS: Final = {Style.MM: 100, Style.INCH: 1000, Style.FRACTION: 64}  # that a unit is shown in
_ONE_CHARACTER_FRACTIONS: Final = {
    "½": Fraction(1, 2),
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
    "⅛": Fraction(1, 8),
    "⅜": Fraction(3, 8),
    "⅝": Fraction(5, 8),
    "⅞": Fraction(7, 8),
}
MINUS: Final = "\N{MINUS SIGN}"
"""Of every figure that is only read; one that is typed in has a hyphen."""
ABOUT: Final = "≈"
_SIGNS: Final = {"+": 1, "-": -1, MINUS: -1}

# Digits are spelled out because \d also takes those of other scripts. Every repeat is followed by a character that
# it can't itself match, so no text makes these slow.
_FRACTION = re.compile(r"(?:([0-9]+)(?:\s+|-))?([0-9]+)\s*[/⁄]\s*([0-9]+)")
_ONE_CHARACTER = re.compile(rf"(?:([0-9]+)(?:\s*|-))?([{''.join(_ONE_CHARACTER_FRACTIONS)}])")
_DECIMAL = re.compile(r"[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+")
_UNIT_SIGN = re.compile(r"(?:in|ft)\.(?![0-9])|[a-z]+|''|′′|[\"″”'′’]", re.IGNORECASE)
_BLANKS = re.compile(r"\s*")

_EXAMPLES: Final = 'Write a length such as 233.4 mm, 9 3/16" or 212 + 3.2.'


class _Reader:
    """One reading of one text, from left to right; ``at`` is the next character."""

    def __init__(self, text: str, bare: Fraction) -> None:
        self.text, self.bare, self.at = text, bare, 0

    def total(self) -> Fraction:
        """All terms, added up [mm]."""
        self._skip_blanks()
        if not self._rest():
            raise LengthError(self.text, 0, "nothing is written here", hint=_EXAMPLES)
        before = self.at  # the last character a number has to follow
        if self._rest().startswith(ABOUT):
            self.at += 1
            self._skip_blanks()
        total, sign = Fraction(0), self._sign()
        while True:
            if sign is not None:
                before = self.at - 1
                self._skip_blanks()
            total += (sign or 1) * self._term(before)
            self._skip_blanks()
            if not self._rest():
                return total
            sign = self._sign()
            if sign is None:
                raise self._stray()

    def _term(self, before: int) -> Fraction:
        value, unit = self._number(before), self._unit_sign()
        if unit != _FOOT:
            return value * (self.bare if unit is None else unit)
        feet = value * _FOOT
        if re.match(r"-[0-9]", self._rest()):
            raise LengthError(
                self.text,
                self.at,
                "the hyphen after feet can be read in two ways",
                hint="Write 5' 3\" for feet and inches, or 5' - 3\" for a difference.",
            )
        self._skip_blanks()
        start = self.at
        if not (self._rest()[:1] in _ONE_CHARACTER_FRACTIONS or re.match("[0-9]", self._rest())):
            return feet
        inches = self._number(start)
        if self._unit_sign() != _INCH:
            raise LengthError(
                self.text, start, "after feet only inches can follow", hint="Give them their sign, as in 5' 3\"."
            )
        return feet + inches * _INCH

    def _number(self, before: int) -> Fraction:
        if found := _FRACTION.match(self.text, self.at):
            whole, over, under = found.groups()
            if int(under) == 0:
                raise LengthError(
                    self.text,
                    found.start(3),
                    "a fraction can't have 0 below its line",
                    hint="Put a number such as 16 there.",
                )
            part = Fraction(int(over), int(under))
            if whole is not None and part >= 1:
                raise LengthError(
                    self.text,
                    found.start(2),
                    "the fraction after a whole number must be less than 1",
                    hint="Check it, or put + between the two.",
                )
            value = int(whole or 0) + part
        elif found := _ONE_CHARACTER.match(self.text, self.at):
            value = int(found[1] or 0) + _ONE_CHARACTER_FRACTIONS[found[2]]
        elif found := _DECIMAL.match(self.text, self.at):
            value = Fraction(found[0].replace(",", ".").removesuffix("."))
        elif not self._rest():
            raise LengthError(
                self.text,
                before,
                f"a number is missing after “{self.text[before]}”",
                hint="Add it, or delete the sign.",
            )
        else:
            raise LengthError(
                self.text,
                self.at,
                f"a number is expected at “{self._shown()}”",
                hint=_EXAMPLES,
            )
        self.at = found.end()
        return value

    def _unit_sign(self) -> Fraction | None:
        """Its size [mm]; None if there is none."""
        self._skip_blanks()
        found = _UNIT_SIGN.match(self.text, self.at)
        if found is None:
            return None
        size = _SIGN_MM.get(found[0].lower().removesuffix("."))
        if size is None:
            raise LengthError(
                self.text, self.at, f"“{found[0]}” is not a unit", hint="Use mm, cm, m, in or ft, and no powers of ten."
            )
        self.at = found.end()
        return size

    def _sign(self) -> int | None:
        sign = _SIGNS.get(self._rest()[:1])
        self.at += sign is not None
        return sign

    def _stray(self) -> LengthError:
        """What to say of a character that can't come after a term."""
        here = self._rest()[0]
        if here in ".,":
            return LengthError(
                self.text,
                self.at,
                "a number can have only one decimal mark",
                hint="Leave out marks between thousands: write 1234.5 or 1234,5.",
            )
        if here in "/⁄":
            return LengthError(
                self.text,
                self.at,
                f"“{here}” must stand between two whole numbers",
                hint="Write a fraction such as 3/16, or a decimal number.",
            )
        if here in "0123456789" or here in _ONE_CHARACTER_FRACTIONS:
            return LengthError(
                self.text,
                self.at,
                "two numbers stand side by side",
                hint="Put + or - between them, and no blanks between thousands.",
            )
        return LengthError(self.text, self.at, f"“{self._shown()}” is not part of a length", hint=_EXAMPLES)

    def _skip_blanks(self) -> None:
        found = _BLANKS.match(self.text, self.at)
        assert found is not None  # it matches the empty text
        self.at = found.end()

    def _rest(self) -> str:
        return self.text[self.at :]

    def _shown(self) -> str:
        here = self.text[self.at]
        return here if here.isprintable() else f"U+{ord(here):04X}"


def parse_length(text: str, unit: Unit) -> float:
    """The length a text stands for [mm].

    A text is one term or a sum of terms, e.g. ``212 + 3.2 mm``, ``1/2" - 2 mm``, ``-3.5``. Computed exactly and
    rounded to a float once.

    - Each bare term is in the project's unit, whatever its neighbours carry: in an inch project ``9 3/16 + 2 mm`` is
      nine and three sixteenths of an inch and two millimetres.
    - Units: mm, cm, m, in (inch, inches, ``"``, ``″``) and ft (foot, feet, ``'``), in small or capital letters.
      Feet and inches may stand together, ``5' 3 1/2"``; the sign before them counts for both.
    - The decimal mark is a point or a comma; there are no marks between thousands and no powers of ten.
    - A hyphen directly between a whole number and a fraction makes a mixed number: ``9-3/16`` is 9 3/16, in every
      unit. With a blank on either side, ``9 - 3/16``, or as U+2212, it is a difference. ``5'-3"`` is refused, because
      both readings are in use.
    - A leading ``≈``, as `show_length` writes it, is passed over.

    Args:
        text: at most `LONGEST_TEXT` characters.
        unit: of bare terms.

    Raises:
        LengthError: the text is no length; it holds the place and what to do.
    """
    if len(text) > LONGEST_TEXT:
        raise LengthError(
            text,
            LONGEST_TEXT,
            f"a length has at most {LONGEST_TEXT} characters",
            hint="Shorten it, or add it up first.",
        )
    return float(_Reader(text, _UNIT_MM[unit]).total())


def unit_of(style: Style) -> Unit:
    """The unit of bare numbers while lengths are shown in this style."""
    return Unit.MM if style is Style.MM else Unit.INCH


@lru_cache(maxsize=4096)
def show_length(mm: float, style: Style, *, with_unit: bool = True, signed: bool = False) -> str:
    """A length to read: to 0.01 mm, to 0.001 in, or to the nearest 1/64 in in lowest terms.

    Halves round away from zero, also those that a float misses by its last digits. A fraction more than 1e-9 in off
    the length begins with ``≈``. Zero has no sign;
    the minus is U+2212.

    Args:
        mm: the length [mm], finite.
        style: how to show it.
        with_unit: append the unit.
        signed: show ``+`` over zero too.

    Raises:
        ValueError: the length is not finite.
    """
    return _shown(mm, style, with_unit, signed)


@lru_cache(maxsize=4096)
def _shown(mm: float, style: Style, with_unit: bool, signed: bool) -> str:  # noqa: FBT001 - as cached
    """`show_length`, remembered: after an edit some hundred lengths are shown anew, and most are what they were."""
    value = _in_unit(mm, style)
    steps = _STEPS[style]
    n = _nearest(value * steps, slack=Fraction(steps, 10**9))
    number = _fraction_text(abs(n)) if style is Style.FRACTION else _decimal_text(abs(n), 2 if style is Style.MM else 3)
    sign = MINUS if n < 0 else "+" if signed and n > 0 else ""
    is_rounded = style is Style.FRACTION and abs(value - Fraction(n, steps)) > Fraction(1, 10**9)
    return (f"{ABOUT} " if is_rounded else "") + sign + number + (f" {unit_of(style)}" if with_unit else "")


def shown_over(mm: float, style: Style) -> float:
    """The least length that `show_length` shows without rounding and that is not below ``mm`` [mm].

    For amounts to be made up: what is read and then typed must be enough.

    Raises:
        ValueError: the length is not finite.
    """
    steps = Fraction(_STEPS[style])
    n = ceil(_in_unit(mm, style) * steps - steps / 10**9)
    return float(n / steps * _UNIT_MM[unit_of(style)])


def shower(style: Style) -> Show:
    """`show_length` in one style, as errors want it."""
    return lambda mm: show_length(mm, style)


def spread_style(style: Style) -> Style:
    """How small differences are shown: in decimals where lengths are in fractions, since a 64th is too coarse."""
    return Style.INCH if style is Style.FRACTION else style


def spread_shower(style: Style) -> Show:
    """`shower` of small differences, in their `spread_style`."""
    return shower(spread_style(style))


def mixed_shower(style: Style) -> Show:
    """`shower` for sentences that say how far something is off and sizes as well: small lengths as `spread_shower`."""
    show, small = shower(style), spread_shower(style)
    return lambda mm: small(mm) if abs(mm) < _SMALL_MM else show(mm)


def edit_text(mm: float, style: Style) -> str:
    """A length to edit: without unit, and whole, so that leaving a field unchanged changes nothing.

    `parse_length` with `unit_of` the style gives the length back to 1e-9 mm. Millimetres and inches have as many
    decimals as that takes and no trailing zeros; in the fraction style a length that is no 64th is a decimal inch.

    Raises:
        ValueError: the length is not finite.
    """
    value = _in_unit(mm, style)
    digits = 9 if style is Style.MM else 11  # half a unit of the last digit: 5e-10 mm and 1.3e-10 mm
    n = round(value * 10**digits)
    sign = "-" if n < 0 else ""
    if style is Style.FRACTION:
        n64 = round(value * 64)
        if abs(value - Fraction(n64, 64)) <= Fraction(1, 10**digits):
            return sign + _fraction_text(abs(n64))
    return sign + _decimal_text(abs(n), digits).rstrip("0").removesuffix(".")


def nudge_step(style: Style, *, big: bool = False) -> float:
    """What one press of an arrow key adds [mm]: 0.1 mm, 0.005 in or 1/64 in; ten times that if ``big``."""
    step = {Style.MM: _MM / 10, Style.INCH: _INCH / 200, Style.FRACTION: _INCH / 64}[style]
    return float(step * 10 if big else step)


def _in_unit(mm: float, style: Style) -> Fraction:
    if not isfinite(mm):
        raise ValueError(f"a length must be finite, not {mm}")
    return Fraction(mm) / _UNIT_MM[unit_of(style)]


def _nearest(value: Fraction, *, slack: Fraction) -> int:
    """The nearest whole number; halves, and what falls short of one by less than the slack, go away from zero."""
    # 9.1875 in is 233.3625 mm, and the nearest float lies below that: without slack it would show as 9.187 in.
    n = int(abs(value) + Fraction(1, 2) + slack)
    return -n if value < 0 else n


def _decimal_text(n: int, digits: int) -> str:
    whole, rest = divmod(n, 10**digits)
    return f"{whole}.{rest:0{digits}d}"


def _fraction_text(n64: int) -> str:
    whole, rest = divmod(n64, 64)
    if rest == 0:
        return str(whole)
    return f"{whole} {Fraction(rest, 64)}" if whole else str(Fraction(rest, 64))
