"""Blocks put in place: nested, scaled, turned, mirrored, in rows and columns, and never without bound."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field

from core.measure.drawing.reading.dxf_layers import Unseen
from core.measure.drawing.reading.dxf_shapes import Chain, EllipticArc, Placement, Spline, mapped
from core.measure.drawing.reading.dxf_tags import MAX_PIECES
from core.measure.drawing.remarks import Notes
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import FloatArray, Point
    from core.measure.drawing.progress import Tick
    from core.measure.drawing.reading.dxf_layers import Layers
    from core.measure.drawing.reading.dxf_shapes import Curve

_AS_IT_IS: Final = np.eye(2)

MAX_DEPTH: Final = 64
"""Blocks may lie in each other this deep."""

_PER_CURVE: Final = 100
"""Lines and arcs that an ellipse or a stretch of a spline becomes, roughly."""


class Entity(Struct, frozen=True, eq=False):
    """A shape as it stands in the file: its kind, its layer and where it begins there."""

    kind: str
    layer: str
    shape: Chain | EllipticArc | Spline | Placement
    at: int


class Block(Struct, eq=False):
    """A block's base point, what it holds, and what was left out of it."""

    base: FloatArray = field(default_factory=lambda: np.zeros(2))
    entities: list[Entity] = field(default_factory=list)
    notes: Notes = field(default_factory=Notes)


class Placed(Struct, frozen=True, eq=False):
    """An entity at its place: it may have come apart there, see ``mapped``."""

    entity: Entity
    layer: str
    parts: tuple[Curve, ...]


def check_blocks(path: str, entities: list[Entity], blocks: dict[str, Block]) -> int:
    """The number of vertices, roughly, once all blocks are in place; counted, not built.

    Raises:
        FileError: blocks hold each other, or lie in each other too deep, or there would be too much of it all.
    """
    sizes: dict[str, int] = {}

    def size_of(name: str, chain: tuple[str, ...]) -> int:
        if name in chain:
            raise FileError(
                path,
                f"the block {name} holds itself" + ("" if chain[-1] == name else f", by way of {chain[-1]}"),
                hint="Take the blocks apart in the program that drew them, and save the drawing anew.",
            )
        if len(chain) >= MAX_DEPTH:
            raise FileError(
                path,
                f"blocks lie in each other more than {MAX_DEPTH} deep",
                hint="Take the blocks apart in the program that drew them, and save the drawing anew.",
            )
        if name not in sizes:
            inner = blocks.get(name)
            sizes[name] = total(inner.entities, (*chain, name)) if inner else 0
        return sizes[name]

    def total(some: list[Entity], chain: tuple[str, ...]) -> int:
        count = 0
        for entity in some:
            shape = entity.shape
            if isinstance(shape, Placement):
                count += shape.columns * shape.rows * (1 + size_of(shape.block, chain))
            elif isinstance(shape, Chain):
                count += len(shape.vertices)
            else:
                count += _PER_CURVE * (max(1, len(shape.points) // 8) if isinstance(shape, Spline) else 1)
        return count

    pieces = total(entities, ())
    if pieces > MAX_PIECES:
        raise FileError(
            path,
            f"the drawing unfolds to more than {MAX_PIECES:,} lines and arcs",
            hint="Save only the part's outlines to a file of their own.",
        )
    return pieces


def placed(
    entities: list[Entity], blocks: dict[str, Block], layers: Layers, pieces: int, tick: Tick
) -> Iterator[Placed]:
    """All entities that are seen at their places, those of the blocks included; the blocks must have been checked.

    What lies on layer 0 of a block is on the layer that the block is put on (DXF reference, "BLOCK"). So a block on a
    layer that is off shows what it holds on layers of its own; one on a frozen layer shows nothing (common practice, no
    source).
    """
    done = 0

    def unfold(some: list[Entity], linear: FloatArray, shift: FloatArray, outer: str) -> Iterator[Placed]:
        nonlocal done
        for entity in some:
            done += 1
            if done % 256 == 0:
                tick(min(1.0, done / (pieces + 1)))
            shape = entity.shape
            layer = outer if outer and entity.layer == "0" else entity.layer
            unseen = layers.hides(layer)
            if unseen is Unseen.FROZEN or (unseen and not isinstance(shape, Placement)):
                layers.leave_out(layer, None if layers.knows(layer) else _place(shape, linear, shift))
                continue
            if not isinstance(shape, Placement):
                parts = (shape,) if linear is _AS_IT_IS else mapped(shape, linear, shift)
                yield Placed(entity, layer, parts)
                continue
            inner = blocks.get(shape.block)
            if inner is None:
                continue
            new = linear @ shape.linear
            origin = linear @ shape.shift + shift - new @ inner.base
            for row in range(shape.rows):
                for column in range(shape.columns):
                    step = np.zeros(2) if shape.steps is None else shape.steps @ np.array([column, row])
                    done += 1
                    if done % 256 == 0:
                        tick(min(1.0, done / (pieces + 1)))
                    yield from unfold(inner.entities, new, origin + linear @ step, layer)

    yield from unfold(entities, _AS_IT_IS, np.zeros(2), "")


def _place(shape: Curve | Placement, linear: FloatArray, shift: FloatArray) -> Point:
    """A place of a shape, once it is put where it belongs."""
    if isinstance(shape, Placement):
        own = shape.shift
    elif isinstance(shape, EllipticArc):
        own = shape.centre
    else:
        own = (shape.vertices if isinstance(shape, Chain) else shape.points)[0, :2]
    x, y = (linear @ own + shift).tolist()
    return x, y


def reached(entities: list[Entity], blocks: dict[str, Block]) -> set[str]:
    """The names of all blocks that are put somewhere, in others too; some may not be in the file."""
    names: set[str] = set()
    work = [entities]
    while work:
        for entity in work.pop():
            shape = entity.shape
            if isinstance(shape, Placement) and shape.block not in names:
                names.add(shape.block)
                if shape.block in blocks:
                    work.append(blocks[shape.block].entities)
    return names
