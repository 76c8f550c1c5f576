"""The fit in plan as a stand-alone SVG: old and new outlines, the insert, the gap, what must not move.

Millimetres, y up as everywhere, turned over only where coordinates are written. Arcs stay arcs.
"""

from __future__ import annotations

from math import cos, fsum, hypot, isfinite, pi, radians, sin
from textwrap import wrap
from typing import TYPE_CHECKING, Final, assert_never
from xml.sax.saxutils import escape

import numpy as np
from msgspec import Struct

from core.features.kind import Follows
from core.files.outlines.rings import rings
from core.fit.checks.web import KEY as THINNEST
from core.words.colours import VERDICT_INKS, printed, printed_rgb
from core.words.ends import Side
from core.words.lengths import Style, show_length, shower
from core.words.verdicts import Unit, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from core.evaluate import Result
    from core.fit.gaps import GapProfile
    from core.geometry.lines.outline import FloatArray, Outline, Point
    from core.part.housing import KeepOut
    from core.part.project import Limits
    from core.words.colours import Rgb
    from core.words.ends import End
    from core.words.verdicts import Finding

GAP_TIMES: Final = 4.0
"""The gap is drawn this many times as wide as it is: one millimetre round a housing would not be seen."""

_TIGHT, _MIDDLE, _LOOSE = (printed_rgb(name) for name in ("tight", "paper", "loose"))
_INSERT, _DARK, _GREY, _FIXED = (printed(name) for name in ("insert_fill", "line", "ghost", "machine"))
_VERDICT: Final = {verdict: printed(name) for verdict, name in VERDICT_INKS.items()}
# Stations that share one tint: fine enough for the eye, and a tenth of the file.
_STATIONS_A_TINT: Final = 8
_LEGEND_EMS: Final = 19.0
_LONGEST_LINE: Final = 30  # characters that fit beside the drawing


def gap_tint(gap: float, least: float, greatest: float) -> Rgb:
    """Colour of a gap on the diverging scale: orange from ``least`` down, blue from ``greatest`` up [mm]."""
    half = (greatest - least) / 2.0
    t = max(-1.0, min(1.0, (gap - (least + greatest) / 2.0) / half)) if half > 0 else float(np.sign(gap - least))
    end = _TIGHT if t < 0 else _LOOSE
    r, g, b = (round(m + (e - m) * abs(t)) for m, e in zip(_MIDDLE, end, strict=True))
    return r, g, b


def outline_path(outline: Outline) -> str:
    """SVG path data of a closed outline, with its arcs as arcs [mm], y down."""
    s = outline.segments
    parts = [f"M{_xy(s.start[0])}"]
    rows = zip(_places(s.end), s.bulge.tolist(), s.radius.tolist(), s.sweep.tolist(), strict=True)
    for end, bulge, radius, sweep in rows:
        if bulge == 0.0:
            parts.append(f"L{end}")
        else:
            # Turning y over makes a counter-clockwise arc run against SVG's positive angles: flag 0.
            parts.append(f"A{radius:.4f} {radius:.4f} 0 {int(abs(sweep) > pi)} {int(bulge < 0)} {end}")
    return " ".join(parts) + "Z"


def fit_picture_svg(result: Result, end: End) -> str:
    """The picture of one piece, with a legend, a scale bar and the verdict in words.

    Raises:
        ValueError: there is no such piece.
    """
    return _Picture(result, end).text()


def _xy(point: FloatArray | Point) -> str:
    return f"{point[0]:.4f} {-point[1] + 0.0:.4f}"


def _places(points: FloatArray) -> list[str]:
    """`_xy` of points (n, 2), of many in a fraction of the time."""
    return [f"{x:.4f} {-y + 0.0:.4f}" for x, y in points.tolist()]


def _hex(colour: Rgb) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)


class _Mark(Struct, frozen=True):
    at: Point
    inner: float
    outer: float
    name: str


class _Picture:
    def __init__(self, result: Result, end: End) -> None:
        after = result.after.piece(end)
        before = result.before.piece(end)
        if after is None or before is None:
            raise ValueError(f"there is no {end}")
        self.result, self.end, self.curves = result, end, after.curves
        self.style: Style = result.project.style
        self.new = [ring.outline for ring in rings(result.after, end)]
        self.old = [ring.outline for ring in rings(result.before, end)]
        self.keep_outs = [_corners(k) for k in result.after.housing.keep_outs]
        bounds = [o.bounds for o in (*self.new, *self.old)]
        bounds += [(k[:, 0].min(), k[:, 1].min(), k[:, 0].max(), k[:, 1].max()) for k in self.keep_outs]
        if not self.new:  # no metal is left: what stays to be seen is the insert in its seat
            bounds += [o.bounds for o in (after.curves.outside, after.curves.rim_outer)]
        b = np.array(bounds)
        self.x0, self.y0 = (float(v) for v in b[:, :2].min(axis=0))
        self.x1, self.y1 = (float(v) for v in b[:, 2:].max(axis=0))
        # Letters as high as a thirtieth of the drawing read at the width of a page.
        self.em = max(self.x1 - self.x0, self.y1 - self.y0) / 38.0

    def text(self) -> str:
        em = self.em
        side = _LEGEND_EMS * em
        left, top = self.x0 - 2 * em, -self.y1 - 6 * em
        width = self.x1 - self.x0 + 4 * em + side
        height = max(self.y1 - self.y0 + 12 * em, 27 * em)
        name = escape(f"{self.result.project.name}: {self.end}")
        size = f'width="{width:.1f}mm" height="{height:.1f}mm"'
        box = f"{left:.3f} {top:.3f} {width:.3f} {height:.3f}"
        font = f'font-family="sans-serif" font-size="{em:.3f}"'
        lines = [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}" {font}>',
            f"<title>{name}</title>",
            *self._patterns(),
            f'<rect x="{left:.3f}" y="{top:.3f}" width="{width:.3f}" height="{height:.3f}" fill="#ffffff"/>',
            *self._drawing(),
            *self._headline(left + 2 * em, top + 2 * em),
            *self._legend(self.x1 + 3 * em, -self.y1 + em),
            *self._scale_bar(self.x0, -self.y0 + 3 * em),
            "</svg>",
        ]
        return "\n".join(lines) + "\n"

    def _patterns(self) -> Iterator[str]:
        step = self.em * 0.6
        for key, colour, angle in (("kept-out", _GREY, 45), ("presses", _DARK, -45)):
            yield (
                f'<defs><pattern id="{key}" width="{step:.3f}" height="{step:.3f}" patternUnits="userSpaceOnUse" '
                f'patternTransform="rotate({angle})"><path d="M0 0V{step:.3f}" stroke="{colour}" '
                f'stroke-width="{step / 3:.3f}"/></pattern></defs>'
            )

    def _drawing(self) -> Iterator[str]:
        em, c = self.em, self.curves
        for corners in self.keep_outs:
            path = "M" + " L".join(_xy(p) for p in corners) + "Z"
            yield f'<path class="keep-out" d="{path}" fill="url(#kept-out)" stroke="{_GREY}" {_width(em * 0.06)}/>'
        rim = outline_path(c.rim_outer) + outline_path(c.rim_inner)
        yield f'<path class="insert" d="{rim}" fill="{_INSERT}" fill-rule="evenodd"/>'
        for gap in self.result.gaps:
            if gap.end is self.end:
                yield from self._ribbon(gap)
        for outline in self.old:
            yield (
                f'<path class="old" d="{outline_path(outline)}" fill="none" stroke="{_GREY}" {_width(em * 0.05)} '
                f'stroke-dasharray="{em * 0.5:.3f} {em * 0.3:.3f}"/>'
            )
        for outline in self.new:
            yield f'<path class="new" d="{outline_path(outline)}" fill="none" stroke="{_DARK}" {_width(em * 0.11)}/>'
        for mark in self._fixed():
            yield from self._fixed_mark(mark)
        for finding in self._webs():
            yield from self._web_mark(finding)

    def _ribbon(self, gap: GapProfile) -> Iterator[str]:
        """The gap from the rim towards its wall; where the rim presses into the wall, into the rim and hatched."""
        limits = self.result.project.limits
        count = len(gap.gap)
        ahead, behind = np.roll(gap.rim, -1, axis=0), np.roll(gap.rim, 1, axis=0)
        travel = (ahead - behind) / np.hypot(*(ahead - behind).T)[:, None]
        out = np.column_stack((travel[:, 1], -travel[:, 0])) * (1.0 if gap.side is Side.OUTER else -1.0)
        far = gap.rim + out * gap.gap[:, None] * GAP_TIMES
        near_texts, far_texts = (_places(np.concatenate((points, points[:1]))) for points in (gap.rim, far))
        wide = [*gap.gap.tolist(), float(gap.gap[0])]
        for begin in range(0, count, _STATIONS_A_TINT):
            those = slice(begin, min(begin + _STATIONS_A_TINT, count) + 1)
            mean = fsum(wide[those]) / len(wide[those])
            tint = _hex(gap_tint(mean, *limits.gap(gap.side)))
            path = "M" + " L".join((*near_texts[those], *reversed(far_texts[those]))) + "Z"
            yield f'<path class="gap" d="{path}" fill="{tint}"/>'
            edge = "M" + " L".join(far_texts[those])
            yield f'<path d="{edge}" fill="none" stroke="{_GREY}" {_width(self.em * 0.03)}/>'
            if mean < 0.0:
                yield f'<path class="presses" d="{path}" fill="url(#presses)"/>'

    def _fixed(self) -> list[_Mark]:
        """What belongs to the machine: holes with or without a boss, and studs."""
        housing = self.result.after.housing
        piece = housing.piece(self.end)
        assert piece is not None
        marks = []
        for feature in piece.features:
            if feature.at is not None and feature.bore > 0.0 and feature.follows is Follows.MACHINE:
                hole = feature.bore / 2.0
                marks.append(_Mark(feature.at, hole, max(feature.round_it / 2.0, hole * 1.3), feature.name))
        studs = [stud for stud in housing.studs if stud.follows is Follows.MACHINE]
        marks += [_Mark((stud.x, stud.y), stud.boss / 4.0, stud.boss / 2.0, stud.name) for stud in studs]
        return marks

    def _fixed_mark(self, mark: _Mark) -> Iterator[str]:
        (x, y), reach = mark.at, mark.outer + self.em * 0.5
        ring = "".join(
            f"M{_xy((x + r, y))} A{r:.4f} {r:.4f} 0 1 0 {_xy((x - r, y))} A{r:.4f} {r:.4f} 0 1 0 {_xy((x + r, y))}Z"
            for r in (mark.outer, mark.inner)
        )
        cross = f"M{_xy((x - reach, y))}L{_xy((x + reach, y))}M{_xy((x, y - reach))}L{_xy((x, y + reach))}"
        yield (
            f'<g class="fixed"><title>{escape(mark.name)}</title>'
            f'<path d="{ring}" fill="{_FIXED}" fill-opacity="0.35" fill-rule="evenodd"/>'
            f'<path d="{cross}" stroke="{_FIXED}" {_width(self.em * 0.07)}/></g>'
        )

    def _webs(self) -> Iterable[Finding]:
        """The least of the measured thicknesses in plan, of this piece."""
        found = [f for f in self.result.findings if f.place.end is self.end and _is_thickness(f)]
        return sorted(found, key=lambda f: f.value)[:1]

    def _web_mark(self, finding: Finding) -> Iterator[str]:
        a, b = finding.place.point, finding.place.other
        assert a is not None
        assert b is not None
        em, colour = self.em, _VERDICT[finding.verdict]
        middle = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        across = (b[0] - a[0], b[1] - a[1])
        size = hypot(*across) or 1.0
        tick = (-across[1] / size * em * 0.6, across[0] / size * em * 0.6)
        path = f"M{_xy(a)}L{_xy(b)}" + "".join(
            f"M{_xy((p[0] - tick[0], p[1] - tick[1]))}L{_xy((p[0] + tick[0], p[1] + tick[1]))}" for p in (a, b)
        )
        value = escape(f"thinnest {show_length(finding.value, self.style)}")
        yield (
            f'<g class="thinnest"><path d="{path}" stroke="{colour}" {_width(em * 0.16)} fill="none"/>'
            f'<circle cx="{middle[0]:.3f}" cy="{-middle[1]:.3f}" r="{em * 1.1:.3f}" fill="none" stroke="{colour}" '
            f"{_width(em * 0.1)}/>{_words(middle[0] + em * 1.4, -middle[1] - em * 0.6, value, colour=colour)}</g>"
        )

    def _headline(self, x: float, y: float) -> Iterator[str]:
        result, em = self.result, self.em
        verdict = result.overall
        failed = sum(f.verdict is Verdict.NO_GO for f in result.findings)
        more = []
        if failed:
            more.append(f"{failed} CHECK{'S' * (failed > 1)} NOT PASSED")
        if not self.new:
            more.append(f"NO METAL IS LEFT OF THE {self.end.upper()}")
        if result.conflicts:
            more.append(f"{len(result.conflicts)} CONFLICT{'S' * (len(result.conflicts) > 1)}: CAN'T FOLLOW")
        yield self._sign(verdict, x + em * 0.6, y - em * 0.45)
        words = escape("; ".join([verdict.value.upper(), *more]))
        yield _words(x + em * 2.0, y, words, colour=_VERDICT[verdict], size=em * 1.3, bold=True)
        yield _words(x, y + em * 1.8, escape(f"{result.project.name}: {self.end}, finished size, seen in plan"))

    def _sign(self, verdict: Verdict, x: float, y: float) -> str:
        """A shape for each verdict, so that it needs no colour: disc, triangle, square."""
        r, colour = self.em * 0.6, _VERDICT[verdict]
        match verdict:
            case Verdict.GO:
                return f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{r:.3f}" fill="{colour}"/>'
            case Verdict.MARGINAL:
                return f'<path d="M{x:.3f} {y - r:.3f}l{r:.3f} {2 * r:.3f}h{-2 * r:.3f}z" fill="{colour}"/>'
            case Verdict.NO_GO:
                return f'<path d="M{x - r:.3f} {y - r:.3f}h{2 * r:.3f}v{2 * r:.3f}h{-2 * r:.3f}z" fill="{colour}"/>'
            case _:
                assert_never(verdict)

    def _legend(self, x: float, y: float) -> Iterator[str]:
        em, limits = self.em, self.result.project.limits
        line, box = em * 2.4, em * 0.9
        rows = (
            ("new outline", f'stroke="{_DARK}" {_width(em * 0.11)}', ""),
            (
                "old outline",
                f'stroke="{_GREY}" {_width(em * 0.05)} stroke-dasharray="{em * 0.5:.3f} {em * 0.3:.3f}"',
                "",
            ),
            ("insert's rim", "", _INSERT),
            ("fixed to the machine", "", _FIXED),
            ("keep-out", "", "url(#kept-out)"),
            ("rim presses on the wall", "", "url(#presses)"),
        )
        for i, (label, stroke, fill) in enumerate(rows):
            at = y + i * em * 1.7
            if stroke:
                yield f'<path d="M{x:.3f} {at:.3f}h{line:.3f}" fill="none" {stroke}/>'
            else:
                yield f'<rect x="{x:.3f}" y="{at - box / 2:.3f}" width="{line:.3f}" height="{box:.3f}" fill="{fill}"/>'
            yield _words(x + line + em * 0.5, at + em * 0.35, escape(label))
        at = y + len(rows) * em * 1.7
        yield from self._gap_scale(x, at, limits)
        worst = sorted(
            (f for f in self.result.findings if isfinite(f.value)), key=lambda f: (-f.verdict.rank, f.margin)
        )
        at += em * 5.5
        for finding in worst[:4]:
            yield self._sign(finding.verdict, x + em * 0.6, at - em * 0.35)
            for line_of_name in wrap(f"{finding.verdict}: {finding.name}", _LONGEST_LINE):
                yield _words(x + em * 1.7, at, escape(line_of_name), size=em * 0.8)
                at += em * 1.1
            at += em * 0.5

    def _gap_scale(self, x: float, y: float, limits: Limits) -> Iterator[str]:
        em, steps, width = self.em, 12, 15.0 * self.em
        low, high = limits.gap(Side.OUTER)
        is_one = limits.gap(Side.INNER) == (low, high)  # the colours mean the same of each wall's own limits
        yield _words(x, y + em * 0.4, escape(f"gap, drawn {GAP_TIMES:g} times as wide"))
        for i in range(steps):
            tint = _hex(gap_tint(low + (high - low) * (i + 0.5) / steps, low, high))
            left = x + width * i / steps
            yield f'<rect x="{left:.3f}" y="{y + em:.3f}" width="{width / steps:.3f}" height="{em:.3f}" fill="{tint}"/>'
        show = shower(self.style)
        tight, loose = (f"tight, {show(low)}", f"{show(high)}, loose") if is_one else ("tight", "loose")
        yield _words(x, y + em * 3.1, escape(tight), size=em * 0.8)
        yield _words(x + width, y + em * 3.1, escape(loose), size=em * 0.8, anchor="end")

    def _scale_bar(self, x: float, y: float) -> Iterator[str]:
        length = 50.0 if self.style is Style.MM else 2.0 * 25.4
        em = self.em
        yield (
            f'<path class="scale-bar" d="M{x:.3f} {y - em / 2:.3f}v{em / 2:.3f}h{length:.3f}v{-em / 2:.3f}" '
            f'fill="none" stroke="{_DARK}" {_width(em * 0.1)}/>'
        )
        yield _words(x + length + em * 0.5, y, escape(show_length(length, self.style)))


def _is_thickness(finding: Finding) -> bool:
    """Whether a finding is a thickness of metal, measured from point to point in plan."""
    place = finding.place
    return (
        finding.check == THINNEST
        and finding.unit is Unit.LENGTH
        and place.point is not None
        and place.other is not None
    )


def _corners(keep_out: KeepOut) -> FloatArray:
    c, s = cos(radians(keep_out.angle)), sin(radians(keep_out.angle))
    x = np.array([-1.0, 1.0, 1.0, -1.0]) * keep_out.length / 2.0
    y = np.array([-1.0, -1.0, 1.0, 1.0]) * keep_out.width / 2.0
    return np.column_stack((keep_out.x + c * x - s * y, keep_out.y + s * x + c * y))


def _width(mm: float) -> str:
    return f'stroke-width="{mm:.3f}"'


def _words(
    x: float,
    y: float,
    text: str,
    *,
    colour: str = _DARK,
    size: float | None = None,
    bold: bool = False,
    anchor: str = "start",
) -> str:
    more = (f' font-size="{size:.3f}"' if size else "") + (' font-weight="bold"' if bold else "")
    # The halo keeps words readable where they lie on lines.
    halo = 'stroke="#ffffff" stroke-width="0.8" paint-order="stroke"'
    return f'<text x="{x:.3f}" y="{y:.3f}" fill="{colour}" {halo} text-anchor="{anchor}"{more}>{text}</text>'
