"""Text that every store, page and paper can carry."""

from __future__ import annotations

import re
import unicodedata

MARKS_OF_DIRECTION = "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
"""Characters without a shape that turn the direction of text: a name with one reads otherwise than it is."""
_TURNS = re.compile(f"[{MARKS_OF_DIRECTION}]")


def is_printable(text: str) -> bool:
    """Whether every store, page and paper can carry the text: no NUL, no half characters."""
    return "\x00" not in text and (text.isascii() or not any("\ud800" <= letter <= "\udfff" for letter in text))


def is_name(text: str) -> bool:
    """Whether a text can be a name: one line, without control characters and marks of direction.

    >>> is_name("Tern 8"), is_name("Tern\\n8"), is_name("Tern \\u202e8")
    (True, False, False)
    """
    if text.isascii():
        return text.isprintable()
    return not _TURNS.search(text) and not any(unicodedata.category(one) in ("Cc", "Zl", "Zp") for one in text)
