"""The documents' commands are those that are run."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def _commands(name: str) -> list[str]:
    text = (ROOT / name).read_text(encoding="utf-8")
    blocks = re.findall(r"^```\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    return [line for block in blocks for line in block.splitlines()]


def test_ci_runs_the_readmes_test_command() -> None:
    command = next(line for line in _commands("README.md") if line.endswith("-m pytest"))
    assert command in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert command in _commands("DEVELOPERS.md")


def test_each_of_the_two_commands_makes_its_own_environment() -> None:
    commands = [line for line in _commands("README.md") if "pip install" in line]
    assert len(commands) == 2
    assert all(line.startswith("python3 -m venv .venv && ") for line in commands)


def test_the_readmes_first_paragraph_states_the_job_and_its_pictures_are_there() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first = text.split("\n\n")[1]
    assert all(word in first for word in ("insert", "seat", "resizes", "checks", "DXF"))
    for picture in re.findall(r"!\[[^]]*\]\(([^)]+)\)", text):
        assert (ROOT / picture).stat().st_size > 10_000


def test_the_wheel_takes_every_asset_but_the_readmes_pictures() -> None:
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["package-data"]
    taken = {path for pattern in told["assets"] for path in (ROOT / "assets").glob(pattern)}
    there = {path for path in (ROOT / "assets").rglob("*") if path.is_file() and path.suffix not in (".py", ".pyc")}
    pictures = set((ROOT / "assets").glob("window-*.png"))
    assert pictures
    assert taken == there - pictures
