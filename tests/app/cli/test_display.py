"""What stands between us and a window is named before Qt is loaded."""

from __future__ import annotations

import ctypes
from typing import TYPE_CHECKING

import pytest

from app.cli import display

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture
def without(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Makes libraries unfindable, and all others findable."""

    def lose(*names: str) -> None:
        def load(name: str) -> object:
            if name in names:
                raise OSError(name)
            return object()

        monkeypatch.setattr(ctypes, "CDLL", load)

    return lose


def test_missing_libraries_are_named_with_the_commands_that_bring_them(without: Callable[..., None]) -> None:
    without("libxcb-cursor.so.0", "libEGL.so.1")
    reason = display.why_no_window({"QT_QPA_PLATFORM": "offscreen"})
    assert reason is not None
    assert "libEGL.so.1" in reason
    assert "libxcb-cursor" not in reason  # the offscreen plug-in needs no X
    without("libxcb-cursor.so.0")
    lines = display._install_words(["libxcb-cursor.so.0"]).splitlines()
    assert "libxcb-cursor.so.0" in lines[0]
    assert {line.strip() for line in lines[1:]} == {
        "Debian, Ubuntu: sudo apt-get install libxcb-cursor0",
        "Fedora: sudo dnf install xcb-util-cursor",
    }


def test_with_everything_there_a_window_can_be_shown(without: Callable[..., None]) -> None:
    without()
    assert display.why_no_window({"QT_QPA_PLATFORM": "offscreen"}) is None
    assert display.why_no_window({"WAYLAND_DISPLAY": "wayland-0"}) is None


def test_no_display_is_said_before_anything_else(without: Callable[..., None]) -> None:
    without("libEGL.so.1")
    assert display.why_no_window({}) == "There is no display here (neither DISPLAY nor WAYLAND_DISPLAY is set)."


def test_a_display_elsewhere_is_left_to_qt(without: Callable[..., None]) -> None:
    without()
    assert display.why_no_window({"DISPLAY": "bench:0"}) is None
