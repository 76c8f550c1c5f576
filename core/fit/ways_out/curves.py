"""Remedies for a piece's own curves and its pockets: a wider wall or lip, a pocket set in, a hold ended first.

``short`` is the metal that is missing [mm].
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.features.kind import Follows
from core.part.project import Hold, HoldInside
from core.words.verdicts import Edit, Remedy, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.alongside import Alongside
    from core.fit.case import Case
    from core.words.ends import End


def thicker_wall(case: Case, end: End, short: float) -> Iterator[Remedy]:
    """A thicker wall; where the outside is held, that hold is ended first."""
    choices, built, after = case.project.choices, case.project.housing.piece(end), case.housing.piece(end)
    assert built is not None
    assert after is not None
    ends: list[Edit] = []
    if choices.hold is Hold.OUTSIDE:
        ends.append(Edit("choices.hold", Hold.WALL))
    if built.held_outside is not None:
        ends.append(Edit(f"housing.{end}.held_outside"))
    wall = built.wall if choices.wall is None else choices.wall
    yield from _freed("outside", "wall", ends, (after.wall, wall), short)


def wider_lip(case: Case, end: End, short: float) -> Iterator[Remedy]:
    """A wider lip; where the opening is held, that hold is ended first."""
    choices, built, after = case.project.choices, case.project.housing.piece(end), case.housing.piece(end)
    assert built is not None
    assert after is not None
    lip = built.lip.width if choices.lip is None else choices.lip
    yield from _freed("opening", "lip", opening_freed(case, end), (after.lip.width, lip), short)


def opening_freed(case: Case, end: End) -> list[Edit]:
    """What lets a held opening follow the seat; nothing where none is held."""
    choices, built = case.project.choices, case.project.housing.piece(end)
    ends: list[Edit] = []
    if choices.hold_inside is HoldInside.OPENING:
        ends.append(Edit("choices.hold_inside", HoldInside.LIP))
    if built is not None and built.opening is not None and built.opening.held is not None:
        ends.append(Edit(f"housing.{end}.opening.held"))
    return ends


def _freed(curve: str, word: str, ends: list[Edit], sizes: tuple[float, float], short: float) -> Iterator[Remedy]:
    """The curve let go, and the wall or lip made wider: ``sizes`` [mm] are what it is now, and what it is then."""
    now, then = sizes
    path, size = f"choices.{word}", "thick" if word == "wall" else "wide"
    if not ends:
        yield Remedy(
            f"make the {word} {{by}} {'thicker' if word == 'wall' else 'wider'}",
            (Edit(path, start=now, per=1.0),),
            short,
        )
        return
    yield Remedy(f"let the {curve} follow the seat", tuple(ends))
    by = short + now - then
    if by > 0.0:
        text = f"let the {curve} follow the seat and make the {word} {{to{len(ends)}}} {size}"
        yield Remedy(text, (*ends, Edit(path, start=then, per=1.0)), by)


def set_in(pocket: Alongside, path: str, short: float) -> Iterator[Remedy]:
    """A pocket that follows the seat again, or is set further in."""
    name = plain(pocket.name)
    if pocket.held is not None:
        yield Remedy(f"let {name} follow the seat", (Edit(f"{path}.held"), Edit(f"{path}.follows", Follows.SEAT)))
        edit = Edit(f"{path}.held.offset", start=pocket.held.offset, per=-1.0)
    else:
        if pocket.follows is not Follows.SEAT:
            yield Remedy(f"let {name} follow the seat", (Edit(f"{path}.follows", Follows.SEAT),))
        edit = Edit(f"{path}.inset", start=pocket.inset, per=1.0)
    yield Remedy(f"set {name} {{by}} further in", (edit,), short)
