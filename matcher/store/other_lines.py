"""Lines of a list that are no parts: titles, continuations, totals, footnotes, comments."""

from __future__ import annotations

import re
from collections.abc import Sequence

from matcher.store.list_words import NO_PARTS
from matcher.store.listing import fold

_SENTENCE = re.compile(r"\S+(\s+\S+){2,}")
_REMARK = re.compile(r"\s*(#|//|--|/\*|;)")
MOST_FILLED = 3
"""A line with more filled cells is taken for a part."""


def begins_with(text: str, start: str) -> bool:
    """Whether a text begins with these words; marks before them, case and spaces do not matter."""
    low, wanted = fold(text), fold(start)
    if wanted[:1].isalnum():
        low = re.sub(r"^[\W_]+", "", low)
    behind = low[len(wanted) : len(wanted) + 1]
    return bool(wanted) and low.startswith(wanted) and not (wanted[-1].isalnum() and behind.isalnum())


def what_line(cells: Sequence[str]) -> str | None:
    """What a line is that could not be read as a part, None where it may be meant as one.

    >>> what_line(["", "* prices are each", ""]), what_line(["Prices net ex works, until May"]), what_line(["A1", "9"])
    ('footnote', 'note', None)
    """
    filled = [cell.strip() for cell in cells if cell.strip()]
    if not filled or len(filled) > MOST_FILLED:
        return None
    for what, starts in NO_PARTS:
        if any(begins_with(filled[0], start) for start in starts):
            return what
    if _REMARK.match(filled[0]):
        return "comment"
    return "note" if len(filled) == 1 and _SENTENCE.fullmatch(filled[0]) else None
