"""Whether a window can be shown here, found out before Qt is loaded: Qt itself only aborts."""

from __future__ import annotations

import ctypes
import os
import re
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

# Library: its package in Debian, and in Fedora. What Qt 6 itself and its X11 plug-in link to.
_NEEDED_ALWAYS = {
    "libEGL.so.1": ("libegl1", "libglvnd-egl"),
    "libGL.so.1": ("libgl1", "libglvnd-glx"),
    "libfontconfig.so.1": ("libfontconfig1", "fontconfig"),
    "libxkbcommon.so.0": ("libxkbcommon0", "libxkbcommon"),
    "libdbus-1.so.3": ("libdbus-1-3", "dbus-libs"),
    "libglib-2.0.so.0": ("libglib2.0-0", "glib2"),
}
_NEEDED_FOR_X11 = {
    "libX11-xcb.so.1": ("libx11-xcb1", "libX11-xcb"),
    "libxcb-cursor.so.0": ("libxcb-cursor0", "xcb-util-cursor"),
    "libxcb-icccm.so.4": ("libxcb-icccm4", "xcb-util-wm"),
    "libxcb-image.so.0": ("libxcb-image0", "xcb-util-image"),
    "libxcb-keysyms.so.1": ("libxcb-keysyms1", "xcb-util-keysyms"),
    "libxcb-randr.so.0": ("libxcb-randr0", "libxcb"),
    "libxcb-render-util.so.0": ("libxcb-render-util0", "xcb-util-renderutil"),
    "libxcb-shape.so.0": ("libxcb-shape0", "libxcb"),
    "libxcb-xkb.so.1": ("libxcb-xkb1", "libxcb"),
    "libxkbcommon-x11.so.0": ("libxkbcommon-x11-0", "libxkbcommon-x11"),
}


def why_no_window(environment: Mapping[str, str] | None = None) -> str | None:
    """Why no window can be shown, with what to do about it; None when one can."""
    env = os.environ if environment is None else environment
    if not sys.platform.startswith("linux"):
        return None
    platform = env.get("QT_QPA_PLATFORM", "").split(":")[0]
    wayland = platform == "wayland" or (not platform and bool(env.get("WAYLAND_DISPLAY")))
    x11 = platform == "xcb" or (not platform and not wayland)
    if x11:
        display = env.get("DISPLAY", "")
        if not display:
            return "There is no display here (neither DISPLAY nor WAYLAND_DISPLAY is set)."
        if not _answers(display):
            return f"The display {display} does not answer."
    missing = _missing({**_NEEDED_ALWAYS, **(_NEEDED_FOR_X11 if x11 else {})})
    return _install_words(missing) if missing else None


def _answers(display: str) -> bool:
    """Whether an X server listens at ``display``; one that can't be judged from here counts as answering."""
    found = re.fullmatch(r"(?:unix)?:(\d+)(?:\.\d+)?", display)
    if found is None:
        return True  # another machine's display: only Qt can tell
    path = f"/tmp/.X11-unix/X{found[1]}"  # noqa: S108 - the place that X11 itself prescribes
    for address in (f"\0{path}", path):
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as s:
            s.settimeout(2.0)
            try:
                s.connect(address)
            except OSError:
                continue
            return True
    return False


def _missing(libraries: Iterable[str]) -> list[str]:
    """The libraries that the loader does not find."""
    lacking: list[str] = []
    for name in libraries:
        try:
            ctypes.CDLL(name)
        except OSError:
            lacking.append(name)
    return lacking


def _install_words(missing: list[str]) -> str:
    known = {**_NEEDED_ALWAYS, **_NEEDED_FOR_X11}
    debian = " ".join(sorted({known[name][0] for name in missing}))
    fedora = " ".join(sorted({known[name][1] for name in missing}))
    commands = (f"  Debian, Ubuntu: sudo apt-get install {debian}", f"  Fedora: sudo dnf install {fedora}")
    # The system's own kind first, when it says what it is.
    release = Path("/etc/os-release")
    kind = release.read_text(encoding="utf-8", errors="replace") if release.exists() else ""
    ordered = commands[::-1] if re.search(r"fedora|rhel", kind) else commands
    return "\n".join(("Qt needs system libraries that are not installed: " + ", ".join(missing) + ".", *ordered))
