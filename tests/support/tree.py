"""A copy of the program that a test may change, and the recipes of DEVELOPERS.md done on it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

_BLOCK = re.compile(r"^```(python|diff) (\S+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def copied_tree(target: Path) -> Path:
    """The program's folders and packages, copied to ``target``."""
    for name in ("core", "app", "assets"):
        shutil.copytree(ROOT / name, target / name, ignore=shutil.ignore_patterns("__pycache__"))
    return target


def run(tree: Path, *arguments: str) -> str:
    """What ``python`` prints with these arguments in a copied tree, which must end well.

    The arguments are those of ``python``: ``-m app check …`` or ``-c …``.
    """
    environment = {**os.environ, "PYTHONPATH": str(tree), "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=tree,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=200,
    )
    assert done.returncode in (0, 1), done.stderr  # 1: the check says no-go
    return done.stdout


def follow_recipe(tree: Path, heading: str) -> list[str]:
    """Do to a copied tree what DEVELOPERS.md says under ``heading``; returns the files touched.

    A block ``python PATH`` is a new file; in a block ``diff PATH`` the lines that begin with a blank stand in the file,
    once, and those with a plus come in.
    """
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    section = text.split(f"\n### {heading}\n", 1)[1].split("\n### ", 1)[0].split("\n## ", 1)[0]
    touched: list[str] = []
    for kind, path, body in _BLOCK.findall(section):
        file = tree / path
        if kind == "python":
            assert not file.exists(), f"{path} is there already"
            file.parent.mkdir(exist_ok=True)
            file.write_text(body, "utf-8")
        else:
            lines = body.splitlines(keepends=True)
            before = "".join(line[1:] for line in lines if line[0] in " -")
            after = "".join(line[1:] for line in lines if line[0] in " +")
            content = file.read_text("utf-8")
            assert content.count(before) == 1, f"{path} does not read so, or more than once:\n{before}"
            file.write_text(content.replace(before, after), "utf-8")
        touched.append(path)
    assert touched, f"the recipe {heading!r} says nothing to do"
    return touched
