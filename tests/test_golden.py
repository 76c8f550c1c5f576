"""What is written for the demos stays what it is: outlines as read back, the report, what the commands print.

``python -m pytest tests/test_golden.py --renew`` writes the files anew after a change that is meant; read the
difference before it is committed. The outlines are compared by their places, since libraries change their bytes.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from ezdxf.filemanagement import readfile

from app.__main__ import main

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from ezdxf.entities.dxfentity import DXFEntity

DEMOS = ("compressor-intake", "lens-ring", "pump-strainer")
ASSETS = Path(__file__).resolve().parents[1] / "assets" / "demos"
GOLDEN = Path(__file__).parent / "golden"
WITHIN_MM = 2e-6  # twice the last digit that is kept

_NUMBER = re.compile(r"-?\d+\.\d{6}(?!\d)")


@pytest.fixture
def compare(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compares a text with the file of that name, or renews the file."""

    def compared(name: str, text: str) -> None:
        path = GOLDEN / name
        if request.config.getoption("--renew"):
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, "utf-8")
        kept = path.read_text("utf-8")
        assert _NUMBER.sub("#", text) == _NUMBER.sub("#", kept)
        places, before = ([float(n) for n in _NUMBER.findall(t)] for t in (text, kept))
        assert places == pytest.approx(before, abs=WITHIN_MM)

    return compared


def _outlines(path: Path) -> Iterator[str]:
    """The entities of a drawing, a line each, by an independent reader."""
    document = readfile(path)
    yield f"{path.name}: units {document.units}"
    for entity in document.modelspace():
        yield f"  {entity.dxf.layer} {_shape(entity)}"


def _shape(entity: DXFEntity) -> str:
    if entity.dxftype() == "CIRCLE":
        x, y, _ = entity.dxf.center
        return f"circle {x:.6f} {y:.6f} radius {entity.dxf.radius:.6f}"
    if entity.dxftype() == "LWPOLYLINE":
        corners = entity.get_points("xyb")  # type: ignore[attr-defined]
        places = "".join(f"\n    {x + 0.0:.6f} {y + 0.0:.6f} bulge {b + 0.0:.6f}" for x, y, b in corners)
        return f"polyline {'closed' if entity.closed else 'open'}{places}"  # type: ignore[attr-defined]
    raise AssertionError(f"no outline is drawn as {entity.dxftype()}")


@pytest.mark.parametrize("demo", DEMOS)
def test_outlines_report_and_list_are_what_they_were(
    demo: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], compare: Callable[[str, str], None]
) -> None:
    main(["export", str(ASSETS / f"{demo}.json"), "--old", "--to", str(tmp_path)])
    drawings = sorted(tmp_path.glob("*.dxf"))
    compare(f"{demo}.outlines.txt", "\n".join(line for path in drawings for line in _outlines(path)) + "\n")
    (report,), (listing,) = tmp_path.glob("*.md"), tmp_path.glob("*.txt")
    compare(f"{demo}.report.md", report.read_text("utf-8"))
    compare(f"{demo}.list.txt", listing.read_text("utf-8"))
    compare(f"{demo}.export.txt", capsys.readouterr().out.replace(str(tmp_path), "FOLDER"))


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("form", ["text", "json"])
def test_what_check_prints_is_what_it_was(
    demo: str, form: str, capsys: pytest.CaptureFixture[str], compare: Callable[[str, str], None]
) -> None:
    main(["check", str(ASSETS / f"{demo}.json"), *(["--json"] if form == "json" else [])])
    said = capsys.readouterr().out
    if form == "json":  # all digits of a float are no promise
        values = json.loads(said, parse_float=lambda digits: round(float(digits), 6) + 0.0)
        said = json.dumps(values, ensure_ascii=False, indent=2) + "\n"
    compare(f"{demo}.check.{'json' if form == 'json' else 'txt'}", said)
