"""Imports point down: who may know whom, typing imports included, and nobody in a circle."""

from __future__ import annotations

import ast
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

LAYERS = (
    "core.words.errors core.words.lengths",
    "core.geometry.lines",
    "core.geometry.ovals",
    "core.geometry.parallels",
    "core.geometry.regions",
    "core.words",
    "core.part.schema core.part.curve",
    "core.features",
    "core.part",
    "core.measure.readings",
    "core.measure.sources",
    "core.edits",
    "core.aim",
    "core.features.stud.engagement core.features.stud.stack",
    "core.metal",
    "core.resize",
    "core.new",
    "core.fit.gaps",
    "core.fit.case",
    "core.fit",
    "core.fit.checks",
    "core.evaluate",
    "core.remedies",
    "core.measure",
    "core.files",
    "app.session",
    "app.widgets",
    "app.drawing",
    "app.steps",
    "app.shell",
    "app.cli",
    "app.__main__ app.windowed",
)
"""From the ground up; a module belongs to the longest name that it begins with."""

RANK = {name: rank for rank, layer in enumerate(LAYERS) for name in layer.split()}


@cache
def imports() -> dict[str, set[str]]:
    """The modules of ours that each module imports, wherever in it."""
    files = [path for top in ("core", "app") for path in (ROOT / top).rglob("*.py")]
    modules = {_name(path): path for path in files}
    return {name: set(_imported(path, modules)) - {name} for name, path in modules.items()}


def _name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def _imported(path: Path, modules: dict[str, Path]) -> list[str]:
    found: list[str] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [name.name for name in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.module is not None, f"{path}: relative imports hide the room"
            whole = (f"{node.module}.{name.name}" for name in node.names)
            found += [name if name in modules else node.module for name in whole]
    return [name for name in found if name in modules]


def rank(module: str) -> int:
    """How high the room of a module lies."""
    parts = module.split(".")
    names = [".".join(parts[:n]) for n in range(len(parts), 0, -1)]
    return next((RANK[name] for name in names if name in RANK), -1)


def test_every_module_lies_in_a_room() -> None:
    packages = {module.rpartition(".")[0] for module in imports()}
    assert [m for m in imports() if rank(m) < 0 and m not in packages] == []


def test_imports_point_down() -> None:
    up = [f"{m} imports {d}" for m, needs in imports().items() for d in needs if "." in d and rank(d) > rank(m)]
    assert up == []


def test_no_module_imports_itself_by_way_of_others() -> None:
    TopologicalSorter(imports()).prepare()  # raises CycleError, which names the circle
