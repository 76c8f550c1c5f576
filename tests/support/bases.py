"""Projects with another base."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

if TYPE_CHECKING:
    from core.features.registry import Feature
    from core.part.project import Project


def with_base(project: Project, *features: Feature, **changes: object) -> Project:
    """The project with these features, and no others, in its base, and with other values of it."""
    base = replace(project.housing.base, features=features, **changes)
    return replace(project, housing=replace(project.housing, base=base))
