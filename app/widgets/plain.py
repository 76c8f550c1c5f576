"""Names that the user gave, where Qt would take them for markup or for a key."""

from __future__ import annotations

from html import escape


def tip(text: str) -> str:
    """A text as a tooltip, which has no plain form: markup in it is shown as it was typed."""
    return f"<p style='white-space: pre-wrap'>{escape(text)}</p>" if "<" in text or "&" in text else text


def on_button(text: str) -> str:
    """A text on a button or in a menu, where a single & makes a key of the letter behind it."""
    return text.replace("&", "&&")


def off_button(text: str) -> str:
    """A button's text as it reads, for a button that paints itself."""
    return text.replace("&&", "&")
