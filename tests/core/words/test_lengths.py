import pickle
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.words.errors import Cancelled, FileError, FoldsOverError, ImpossibleOvalError, LengthError, UserError
from core.words.lengths import (
    LONGEST_TEXT,
    Style,
    Unit,
    edit_text,
    nudge_step,
    parse_length,
    show_length,
    shower,
    shown_over,
    unit_of,
)

MM, INCH = Unit.MM, Unit.INCH
STEP_MM = {Style.MM: 0.01, Style.INCH: 0.0254, Style.FRACTION: 25.4 / 64}

lengths = st.floats(-1e5, 1e5)
styles = st.sampled_from(Style)
units = st.sampled_from(Unit)
near_lengths = st.text(alphabet="0123456789 ./,+-−≈⁄'\"″′’”½¼⅞mcinftMe\t\xa0", max_size=LONGEST_TEXT + 3)


@pytest.mark.parametrize(
    ("text", "inches", "mm"),
    [
        pytest.param("1", 1.0, 25.4, id="exact inch, NIST SP 811 appendix B.8"),
        pytest.param("1 ft", 12.0, 304.8, id="exact foot, NIST SP 811 appendix B.8"),
        # Decimal equivalents of an inch as in the shop tables: 64ths to 6 decimals, all exact, times the exact inch.
        pytest.param("1/64", 0.015625, 0.396875, id="1/64, decimal-equivalent table"),
        pytest.param("3/64", 0.046875, 1.190625, id="3/64, decimal-equivalent table"),
        pytest.param("1/32", 0.03125, 0.79375, id="1/32, decimal-equivalent table"),
        pytest.param("3/16", 0.1875, 4.7625, id="3/16, decimal-equivalent table"),
        pytest.param("11/32", 0.34375, 8.73125, id="11/32, decimal-equivalent table"),
        pytest.param("63/64", 0.984375, 25.003125, id="63/64, decimal-equivalent table"),
        pytest.param("9 3/16", 9.1875, 233.3625, id="9 + 3/16, decimal-equivalent table"),
    ],
)
def test_inches_against_published_values(text: str, inches: float, mm: float) -> None:
    assert parse_length(text, INCH) == mm
    assert parse_length(f"{inches} in", MM) == mm


@pytest.mark.parametrize(
    "text",
    [
        '9 3/16"', '9-3/16"', "9 3/16 in", "9 3/16in", "9 3/16 in.", "9 3/16 Inch", "9 3/16 inches", "9 3/16″",
        "9 3/16”", "9 3/16''", '9.1875"', "9,1875 in", "9 3⁄16 in", "9 3 / 16 in", "  9\t3/16\xa0in ", "147/16 in",
        "≈ 9 3/16 in", "+9 3/16 in", "23.33625 cm", "0.23336250 m", "233.3625", "233,3625 MM",
        '9 1/8" + 1/16"', '9 ⅛" + 1/16 in', '9-⅛" + 1/16 in', "9⅛in+1/16in", '9¼" - 1/16"', '9¼" − 1/16"',
    ],
)  # fmt: skip
def test_one_length_is_read_in_many_spellings(text: str) -> None:
    assert parse_length(text, MM) == 233.3625


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("233.4", MM, 233.4),
        ("233,4", MM, 233.4),
        ("1,234", MM, 1.234),
        ("5.", MM, 5.0),
        (".5", MM, 0.5),
        (",5", MM, 0.5),
        ("-3.5", MM, -3.5),
        ("−3.5", MM, -3.5),
        ("- 3.5", MM, -3.5),
        ("-0", MM, 0.0),
        ("212 + 3.2 mm", MM, 215.2),
        ("0.1+0.2", MM, 0.3),
        ("9 3/16 + 1/8", INCH, 236.5375),
        ('9 3/16 + 1/8"', INCH, 236.5375),
        ('1/2" - 2 mm', MM, 10.7),
        ('1/2" - 2', MM, 10.7),
        ('10 + 1/2"', MM, 22.7),
        ("1 + 2 mm", INCH, 27.4),
        ("-1 1/2", INCH, -38.1),
        ("1 - 1/2", INCH, 12.7),
        ("1- 1/2", INCH, 12.7),
        ("1 -1/2", INCH, 12.7),
        ("1−1/2", INCH, 12.7),
        ("1-1/2", INCH, 38.1),
        ("1-½", INCH, 38.1),
        ("1 ½", INCH, 38.1),
        ("2-1/2-1/4", INCH, 57.15),
        ("1/2-1/4", INCH, 6.35),
        ("9-3", MM, 6.0),
        ("9-3/16", MM, 9.1875),
        ("1' 2\"", MM, 355.6),
        ("1'2½\"", MM, 368.3),
        ("1' ½\"", MM, 317.5),
        ("-1 ft 2 in", MM, -355.6),
        ("1′ 2″ + 1", MM, 356.6),
        ("1' - 2\"", MM, 254.0),
        ("0.5 ft", MM, 152.4),
        ("1' + 2", INCH, 355.6),
    ],
)
def test_a_text_is_read_as_documented(text: str, unit: Unit, mm: float) -> None:
    assert parse_length(text, unit) == mm


@pytest.mark.parametrize(
    ("sign", "value"),
    [("½", 0.5), ("¼", 0.25), ("¾", 0.75), ("⅛", 0.125), ("⅜", 0.375), ("⅝", 0.625), ("⅞", 0.875)],
)
def test_one_character_fractions_are_read(sign: str, value: float) -> None:
    assert parse_length(f"3{sign}", MM) == 3 + value


@pytest.mark.parametrize(
    ("text", "position", "says"),
    [
        ("", 0, r"nothing is written here\. Write a length such as"),
        (" \t ", 0, "nothing is written here"),
        ("≈", 0, "a number is missing after “≈”"),
        ("212 +", 4, r"a number is missing after “\+”\. Add it, or delete the sign"),
        ("212 + ", 4, r"a number is missing after “\+”"),
        ("-", 0, "a number is missing after “-”"),
        ("3 - -2", 4, "a number is expected at “-”"),
        ("mm", 0, "a number is expected at “m”"),
        (".", 0, r"a number is expected at “\.”"),
        ("nan", 0, "a number is expected at “n”"),
        ("inf", 0, "a number is expected at “i”"),
        ("-inf", 1, "a number is expected at “i”"),
        ("1e999", 1, r"“e” is not a unit\. Use mm, cm, m, in or ft, and no powers of ten"),
        ("5 yd", 2, "“yd” is not a unit"),
        ("9 3/0", 4, r"a fraction can't have 0 below its line\. Put a number"),
        ("9 20/16", 2, "the fraction after a whole number must be less than 1"),
        ("1,234.5", 5, "only one decimal mark.* Leave out marks between thousands: write 1234.5 or 1234,5"),
        ("1.234,5", 5, "only one decimal mark"),
        ("1,234,567", 5, "only one decimal mark"),
        ("3/16.5", 4, "only one decimal mark"),
        ("3/", 1, "“/” must stand between two whole numbers"),
        ("1.5/2", 3, "“/” must stand between two whole numbers"),
        ("1 000", 2, r"two numbers stand side by side\. Put \+ or - between them"),
        ("9.5 3/16", 4, "two numbers stand side by side"),
        ("3 ½ ½", 4, "two numbers stand side by side"),
        ("3 * 2", 2, r"“\*” is not part of a length"),
        ("3\x00", 1, r"“U\+0000” is not part of a length"),
        ("٣", 0, "a number is expected at “٣”"),
        ("__import__", 0, "a number is expected at “_”"),
        ("5'-3\"", 2, "the hyphen after feet can be read in two ways"),
        ("5' 3", 3, "after feet only inches can follow"),
        ("5' 3 mm", 3, "after feet only inches can follow"),
        ("5' .", 3, "only one decimal mark"),
        ("1" * 61, 60, "a length has at most 60 characters"),
    ],
)
def test_a_refusal_says_where_and_what_to_do(text: str, position: int, says: str) -> None:
    with pytest.raises(LengthError, match=says) as caught:
        parse_length(text, MM)
    assert (caught.value.text, caught.value.position) == (text, position)
    assert caught.value.hint.endswith(".")


@settings(deadline=None, max_examples=500)
@given(text=st.text(max_size=LONGEST_TEXT + 3) | near_lengths, unit=units)
def test_any_text_is_a_finite_length_or_a_refusal_that_points_into_it(text: str, unit: Unit) -> None:
    try:
        mm = parse_length(text, unit)
    except LengthError as e:
        assert 0 <= e.position < max(1, len(text))  # noqa: PT017 - both outcomes are right
        assert e.text == text  # noqa: PT017
    else:
        assert abs(mm) < 1e64


@pytest.mark.parametrize(
    ("mm", "style", "shown"),
    [
        (233.4, Style.MM, "233.40 mm"),
        (2.675, Style.MM, "2.68 mm"),
        (-2.675, Style.MM, "−2.68 mm"),
        (-0.004, Style.MM, "0.00 mm"),
        (-0.0, Style.MM, "0.00 mm"),
        (233.3625, Style.INCH, "9.188 in"),
        (-1e-9, Style.INCH, "0.000 in"),
        (233.3625, Style.FRACTION, "9 3/16 in"),
        (-233.3625, Style.FRACTION, "−9 3/16 in"),
        (233.4, Style.FRACTION, "≈ 9 3/16 in"),
        (-233.4, Style.FRACTION, "≈ −9 3/16 in"),
        (4.7625, Style.FRACTION, "3/16 in"),
        (25.4, Style.FRACTION, "1 in"),
        (25.3, Style.FRACTION, "≈ 1 in"),
        (0.0, Style.FRACTION, "0 in"),
        (-0.01, Style.FRACTION, "≈ 0 in"),
    ],
)
def test_a_length_is_shown_in_its_style(mm: float, style: Style, shown: str) -> None:
    assert show_length(mm, style) == shown
    assert show_length(mm, style, with_unit=False) == shown.rsplit(" ", 1)[0]
    assert shower(style)(mm) == shown


@pytest.mark.parametrize(
    ("mm", "style", "shown"),
    [
        (3.2, Style.MM, "+3.20 mm"),
        (-3.2, Style.MM, "−3.20 mm"),
        (-0.001, Style.MM, "0.00 mm"),
        (-233.3625, Style.FRACTION, "−9 3/16 in"),
        (233.4, Style.FRACTION, "≈ +9 3/16 in"),
    ],
)
def test_a_signed_length_shows_plus_and_the_true_minus(mm: float, style: Style, shown: str) -> None:
    assert show_length(mm, style, signed=True) == shown


@settings(deadline=None)
@given(mm=lengths, style=styles, signed=st.booleans(), unit=units)
def test_a_shown_length_reads_back_within_the_rounding(mm: float, style: Style, signed: bool, unit: Unit) -> None:  # noqa: FBT001
    shown = show_length(mm, style, signed=signed)
    back = parse_length(shown, unit)
    assert abs(back - mm) <= STEP_MM[style] / 2 + 3e-8
    # What was read from a rounded fraction is that fraction: only the ≈ goes.
    assert show_length(back, style, signed=signed) == shown.removeprefix("≈ ")
    assert parse_length(show_length(mm, style, with_unit=False), unit_of(style)) == back


@settings(deadline=None)
@given(mm=lengths, style=styles)
def test_an_edit_text_reads_back_whole(mm: float, style: Style) -> None:
    text = edit_text(mm, style)
    assert abs(parse_length(text, unit_of(style)) - mm) <= 1e-9
    assert not text.startswith("-0 ")


@settings(deadline=None)
@given(n64=st.integers(-(10**6), 10**6))
def test_every_64th_is_shown_and_edited_exactly(n64: int) -> None:
    mm = float(Fraction(n64, 64) * Fraction(254, 10))
    assert show_length(mm, Style.FRACTION) == edit_text(mm, Style.FRACTION).replace("-", "−") + " in"
    assert parse_length(edit_text(mm, Style.FRACTION), INCH) == mm


@pytest.mark.parametrize(
    ("mm", "style", "text"),
    [
        (233.4, Style.MM, "233.4"),
        (0.1 + 0.2, Style.MM, "0.3"),
        (100.0, Style.MM, "100"),
        (-0.0, Style.MM, "0"),
        (-1e-12, Style.MM, "0"),
        (-12.3456789, Style.MM, "-12.3456789"),
        (233.3625, Style.INCH, "9.1875"),
        (2.54, Style.INCH, "0.1"),
        (-233.3625, Style.FRACTION, "-9 3/16"),
        (-1e-12, Style.FRACTION, "0"),
        (2.54, Style.FRACTION, "0.1"),
    ],
)
def test_an_edit_text_is_trimmed(mm: float, style: Style, text: str) -> None:
    assert edit_text(mm, style) == text


@pytest.mark.parametrize("mm", [float("nan"), float("inf"), float("-inf")])
def test_only_finite_lengths_are_shown(mm: float) -> None:
    with pytest.raises(ValueError, match=f"a length must be finite, not {mm}"):
        show_length(mm, Style.MM)
    with pytest.raises(ValueError, match="a length must be finite"):
        edit_text(mm, Style.FRACTION)


def test_arrow_keys_step_by_what_the_style_can_show_or_edit() -> None:
    assert [nudge_step(s) for s in Style] == [0.1, 0.127, 0.396875]
    assert [nudge_step(s, big=True) for s in Style] == [1.0, 1.27, 3.96875]


ERRORS = [
    pytest.param(UserError("seat", "it has no outline"), "seat: it has no outline", id="UserError"),
    pytest.param(UserError("seat", "it is open", hint="Close it."), "seat: it is open. Close it.", id="with hint"),
    pytest.param(
        LengthError("3x", 1, "“x” is not a unit", hint="Use mm.", where="gap"),
        "gap: “x” is not a unit. Use mm.",
        id="LengthError",
    ),
    pytest.param(
        FoldsOverError("ledge", 12.7, 6.35),
        "ledge: an inward move of 1/2 in folds the curve over; its tightest radius is 1/4 in. Stay below that.",
        id="FoldsOverError",
    ),
    pytest.param(
        ImpossibleOvalError(
            "width", "{asked} is more than the length", "stay below {bound}", asked_mm=25.4, bound_mm=12.7
        ),
        "width: 1 in is more than the length; stay below 1/2 in.",
        id="ImpossibleOvalError",
    ),
    pytest.param(
        ImpossibleOvalError("exponent", "{1} is too low", "use at least 2"),
        "exponent: {1} is too low; use at least 2.",
        id="ImpossibleOvalError without lengths",
    ),
    pytest.param(
        FileError("a.txt", "it is empty", hint="Save it again."), "a.txt: it is empty. Save it again.", id="FileError"
    ),
]


@pytest.mark.parametrize(("error", "message"), ERRORS)
def test_an_error_says_where_what_and_what_to_do_and_survives_pickling(error: UserError, message: str) -> None:
    copy = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
    assert type(copy) is type(error)
    assert vars(copy) == vars(error)
    assert error.message(shower(Style.FRACTION)) == copy.message(shower(Style.FRACTION)) == message


def test_an_error_as_text_shows_plain_millimetres() -> None:
    assert "move of 12.70 mm folds" in str(FoldsOverError("ledge", 12.7, 6.35))


def test_cancelling_is_nothing_the_user_has_to_put_right() -> None:
    assert not issubclass(Cancelled, UserError)


@given(mm=st.floats(-500.0, 500.0), style=st.sampled_from(list(Style)))
def test_what_is_shown_over_a_length_is_never_below_it_and_less_than_a_step_above(mm: float, style: Style) -> None:
    over = shown_over(mm, style)
    step = {Style.MM: 0.01, Style.INCH: 0.0254, Style.FRACTION: 25.4 / 64}[style]
    assert mm - 1e-6 <= over < mm + step
    assert parse_length(show_length(over, style), unit_of(style)) == pytest.approx(over, abs=1e-9)
