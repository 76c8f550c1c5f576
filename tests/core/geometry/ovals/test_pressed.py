"""Soft rims pressed to another oval: the developed length stays."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.evaluate import evaluate
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, Oval, exact_length, oval_outline
from core.geometry.ovals.pressed import grown_to, pressed_oval
from core.geometry.parallels.parallel import parallel
from core.new.part import two_piece
from core.part.insert import Insert, Pressed, Rim
from core.part.materials import Material
from core.words.errors import FileError, ImpossibleOvalError

FREE = Oval(Family.ELLIPSE, 240.0, 140.0)


@pytest.mark.parametrize("family", SIZED_FAMILIES)
def test_the_developed_length_stays_whatever_the_shape(family: Family) -> None:
    pressed = pressed_oval(FREE, family, 130.0)
    assert exact_length(pressed) == pytest.approx(exact_length(FREE), abs=1e-8)
    assert family is Family.CIRCLE or pressed.width == 130.0


@settings(deadline=None)
@given(width=st.floats(60.0, 150.0))
def test_an_obround_follows_from_its_closed_form(width: float) -> None:
    # Developed length of an obround: 2 (L - W) + pi W (elementary geometry).
    developed = exact_length(FREE)
    assert pressed_oval(FREE, Family.OBROUND, width).length == pytest.approx((developed - pi * width) / 2.0 + width)


def test_too_wide_a_shape_names_the_greatest_width() -> None:
    with pytest.raises(ImpossibleOvalError, match="width") as caught:
        pressed_oval(FREE, Family.OBROUND, 230.0)
    assert caught.value.bound_mm == pytest.approx(exact_length(FREE) / pi)


@pytest.mark.parametrize("distance", [4.5, -3.0])
def test_growing_all_round_is_the_parallel(distance: float) -> None:
    for shape in (Oval(Family.OBROUND, 212.0, 134.0), Oval(Family.ROUNDED_RECTANGLE, 212.0, 134.0, 40.0)):
        # Steiner: the parallel at the distance d is 2 pi d longer.
        grown = grown_to(shape, exact_length(shape) + 2.0 * pi * distance)
        wanted = parallel(oval_outline(shape), distance)
        assert oval_outline(grown).segments.nearest(wanted.vertices[:, :2])[0].max() < 1e-8


def test_a_pressed_rim_sits_in_its_seat_as_pressed() -> None:
    free = Insert("soft", Family.ELLIPSE, 240.0, 140.0, Rim(12.0, 10.0), 55.0)
    pressed = replace(free, pressed=Pressed(Family.OBROUND, 134.0))
    result = evaluate(replace(two_piece(replace(free, family=Family.OBROUND)), new_insert=pressed))
    length = exact_length(Oval(Family.ELLIPSE, 240.0, 140.0))
    assert result.after.base.curves.rim_outer.length == pytest.approx(length, abs=1e-8)
    assert len(result.after.base.curves.rim_outer) == 4


def test_a_rigid_rim_is_not_pressed() -> None:
    rigid = Insert("hard", Family.ELLIPSE, 240.0, 140.0, Rim(12.0, 10.0), 55.0, Material.RIGID)
    project = replace(two_piece(rigid), new_insert=replace(rigid, pressed=Pressed(Family.OBROUND, 134.0)))
    with pytest.raises(FileError, match="a rigid rim keeps its shape"):
        evaluate(project)
