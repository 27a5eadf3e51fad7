"""Text that every store, page and paper can carry."""

from __future__ import annotations


def is_printable(text: str) -> bool:
    """Whether every store, page and paper can carry the text: no NUL, no half characters."""
    return "\x00" not in text and not any("\ud800" <= letter <= "\udfff" for letter in text)
