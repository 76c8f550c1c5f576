"""Layers that are off, frozen or not plotted: what lies on them is on no print, and is no outline to cut by."""

from __future__ import annotations

from collections import Counter
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from core.measure.drawing.reading.dxf_fields import Fields
from core.measure.drawing.reading.dxf_shapes import UnusableError
from core.measure.drawing.remarks import Remark, RemarkKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import Point
    from core.measure.drawing.reading.dxf_tags import Record

_FROZEN_FLAG: Final = 1  # bit of group 70; 2 only freezes new viewports, which is nothing to model space
_NEVER_PLOTTED: Final = "defpoints"
"""Where dimensions keep the points that they measure: no program plots it, whatever its flag says (common practice, no
source)."""


class Unseen(StrEnum):
    """Why nothing is seen of a layer."""

    FROZEN = "frozen"
    OFF = "off"
    NOT_PLOTTED = "not plotted"


class Layers:
    """The table of layers, and what was left out for what it says.

    A layer is frozen by bit 1 of its flags (group 70), off when its colour (62) is negative, and not plotted when its
    plotting flag (290) is 0 (DXF reference, "LAYER"). One that is not in the table is seen.
    """

    def __init__(self) -> None:
        self._unseen: dict[str, Unseen] = {_NEVER_PLOTTED: Unseen.NOT_PLOTTED}
        self._left_out: Counter[tuple[str, Unseen]] = Counter()
        self._places: dict[tuple[str, Unseen], Point] = {}

    def read(self, name: str, record: Record) -> None:
        """Take a LAYER of the table."""
        fields = Fields(record)
        try:
            if fields.whole(70) & _FROZEN_FLAG:
                state = Unseen.FROZEN
            elif fields.whole(62, 7) < 0:
                state = Unseen.OFF
            elif fields.whole(290, 1) == 0:
                state = Unseen.NOT_PLOTTED
            else:
                return
        except UnusableError:  # of a broken table nothing is believed
            return
        self._unseen[name.casefold()] = state

    def hides(self, layer: str) -> Unseen | None:
        """Why nothing on a layer is seen; None when it is."""
        return self._unseen.get(layer.casefold())

    def knows(self, layer: str) -> bool:
        """Whether something on a layer was left out already, so that its place is known."""
        state = self.hides(layer)
        return state is not None and (layer, state) in self._places

    def leave_out(self, layer: str, at: Point | None) -> None:
        """Note something on a layer that is not seen."""
        state = self.hides(layer)
        assert state is not None
        self._left_out[layer, state] += 1
        if at is not None:
            self._places.setdefault((layer, state), at)

    def remarks(self) -> Iterator[Remark]:
        """A sentence for each layer of which something was left out."""
        for (layer, state), count in self._left_out.most_common():
            text = f"Left out: what lies on the layer {layer}, which is {state} ({count:,})."
            yield Remark.of(RemarkKind.LAYER, text, self._places.get((layer, state)))
