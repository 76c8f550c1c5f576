"""Whatever the geometry offers shows its use, with shapes and units, in an example that holds."""

import doctest
import inspect
import pkgutil
from importlib import import_module
from typing import Any

import pytest

import core.geometry

MODULES = sorted(found.name for found in pkgutil.walk_packages(core.geometry.__path__, "core.geometry."))

RESULTS = (
    "core.geometry.lines.crossings.Crossings",
    "core.geometry.lines.crossings.Pieces",
    "core.geometry.lines.foot.Foot",
    "core.geometry.lines.outline.Nearest",
    "core.geometry.regions.knife_edges.KnifeEdge",
    "core.geometry.regions.knife_edges.ThinPart",
    "core.geometry.regions.region.NearestOnRegion",
    "core.geometry.regions.webs.Web",
)
"""Values that only carry what a function returns: its example shows them."""


def needs_example(value: Any, module: str) -> bool:  # noqa: ANN401 - whatever stands in a module
    """Whether it is a function of the module's own, or a class made with arguments, but no error and no protocol."""
    if getattr(value, "__module__", None) != module or not callable(value):
        return False
    if not inspect.isclass(value):
        return inspect.isroutine(inspect.unwrap(value))
    apart = issubclass(value, BaseException) or getattr(value, "_is_protocol", False)
    return not apart and bool(getattr(value, "__struct_fields__", None) or inspect.signature(value).parameters)


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_hold(name: str) -> None:
    assert doctest.testmod(import_module(name)).failed == 0


@pytest.mark.parametrize("name", MODULES)
def test_nothing_public_is_without_an_example(name: str) -> None:
    module = import_module(name)
    shown = {found.name for found in doctest.DocTestFinder().find(module) if found.examples}
    public = {f"{name}.{key}" for key, value in vars(module).items() if key[0] != "_" and needs_example(value, name)}
    assert public - shown - set(RESULTS) == set()


@pytest.mark.parametrize("name", RESULTS)
def test_each_exception_is_still_one(name: str) -> None:
    module, _, key = name.rpartition(".")
    assert ">>>" not in (inspect.getdoc(getattr(import_module(module), key)) or "")
