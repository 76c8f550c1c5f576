"""One finding with its remedies tried, and the project after one of them was done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.edits import set_value
from core.evaluate import evaluate
from core.remedies import remedied

if TYPE_CHECKING:
    from core.part.project import Project
    from core.words.verdicts import Finding, Remedy


def found(project: Project, name: str) -> Finding:
    """The finding of that name, as it is computed."""
    return next(f for f in evaluate(project).findings if f.name == name)


def tried(project: Project, name: str) -> Finding:
    """The finding of that name with the remedies that hold; those of all others are left alone, which takes less."""
    result = evaluate(project)
    findings = tuple(f if f.name == name else replace(f, remedies=()) for f in result.findings)
    return next(f for f in remedied(result.saying(findings, is_remedied=False)).findings if f.name == name)


def done(project: Project, remedy: Remedy) -> Project:
    """The project with a remedy's edits made, by the amount that it says."""
    for edit in remedy.edits:
        value = edit.value if edit.per == 0.0 else edit.start + edit.per * remedy.by
        project = set_value(project, edit.path, value)
    return project
