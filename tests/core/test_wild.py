"""The random projects that other tests stand on are valid, the same each time, and of every kind."""

from __future__ import annotations

from core.features.kind import Follows
from core.files.project.file import decode_project, encode_project
from core.geometry.ovals.ovals import Family
from core.part.curve import HeldCurve
from core.part.materials import Material
from core.part.project import Mode, Project
from tests.support.wild import wild_project


def kinds(project: Project) -> set[str]:
    """What of the wild things there are is in a project."""
    housing, old = project.housing, project.old_insert
    pieces = [piece for piece in (housing.base, housing.lid) if piece is not None]
    features = [feature for piece in pieces for feature in piece.features]
    found = {str(feature.__struct_config__.tag) for feature in features} | {old.family.value}
    found |= {"rework"} if project.choices.mode is Mode.REWORK else set()
    found |= {"rigid ring"} if housing.lid is None and old.material is Material.RIGID else set()
    found |= {"no lid"} if housing.lid is None else {"studs"} if housing.studs else set()
    found |= {"held outside"} if any(piece.held_outside for piece in pieces) else set()
    found |= {"held opening"} if any(piece.opening and piece.opening.held for piece in pieces) else set()
    found |= {"old seat"} if any(piece.earlier_seat for piece in pieces) else set()
    found |= {"held feature"} if any(isinstance(getattr(f, "held", None), HeldCurve) for f in features) else set()
    return found | ({"machine"} if any(f.follows is Follows.MACHINE for f in features) else set())


def test_wild_projects_could_stand_in_a_file_and_come_out_the_same_again() -> None:
    for seed in range(40):
        project = wild_project(seed)
        assert decode_project(encode_project(project), where="wild.json") == project
        assert wild_project(seed) == project


def test_wild_projects_are_of_every_kind() -> None:
    found = set[str]().union(*(kinds(wild_project(seed)) for seed in range(60)))
    wanted = {*Family, "rework", "rigid ring", "no lid", "studs", "held outside", "held opening", "old seat"}
    wanted |= {"crossbar", "hole", "lug", "pocket", "band", "rib", "badge", "held feature", "machine"}
    assert found >= wanted
