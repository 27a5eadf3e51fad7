"""Lines of a list that are not parts: titles, continuations, totals, footnotes, comments."""

from __future__ import annotations

import re
from collections.abc import Sequence

from matcher.store.lists.list_words import NO_PARTS
from matcher.store.lists.listing import fold

_SENTENCE = re.compile(r"\S+(\s+\S+){2,}")
_REMARK = re.compile(r"\s*(#|//|--|/\*|;)")
MOST_FILLED = 3
"""A line with more filled cells counts as a part."""


def begins_with(text: str, start: str) -> bool:
    """Whether a text begins with these words, ignoring punctuation before them, case and spaces."""
    low, wanted = fold(text), fold(start)
    if wanted[:1].isalnum():
        low = re.sub(r"^[\W_]+", "", low)
    behind = low[len(wanted) : len(wanted) + 1]
    return bool(wanted) and low.startswith(wanted) and not (wanted[-1].isalnum() and behind.isalnum())


def is_commented_out(cells: Sequence[object]) -> bool:
    """Whether a part's row begins like a comment.

    >>> is_commented_out(["// P3", "Ulvo"]), is_commented_out(["#12", "Ulvo"])
    (True, False)
    """
    first = next((cell for cell in cells if isinstance(cell, str) and cell.strip()), "")
    return re.match(r"\s*(//|#\s|~~|/\*)", first) is not None


def is_header_again(cells: Sequence[str], headers: Sequence[str]) -> bool:
    """Whether a row repeats the header of its list, as compared by `fold`."""
    filled = [(fold(cell), header) for cell, header in zip(cells, headers, strict=False) if cell]
    return len(filled) > 1 and all(cell == header for cell, header in filled)


def sub_heading(cells: Sequence[str]) -> str | None:
    """Return the only filled cell of a row if it can name the rows below it.

    >>> sub_heading(["", "Loudspeakers", ""]), sub_heading(["A1", "9"]), sub_heading(["* prices are each"])
    ('Loudspeakers', None, None)
    """
    filled = [cell.strip(" \t=-*#:~_>") for cell in cells if cell.strip()]
    is_one = len(filled) == 1 and len(filled[0]) <= 80 and re.search(r"[^\W\d]{2}", filled[0])
    return filled[0] if is_one and not _begins_otherwise(cells) else None


def _begins_otherwise(cells: Sequence[str]) -> bool:
    first = next(cell.strip() for cell in cells if cell.strip())
    starts = [start for what, starts in NO_PARTS for start in starts if what != "footnote" or start[0].isalpha()]
    return any(begins_with(first, start) for start in starts) or bool(re.match(r"\*[^*]|†|‡", first))


def what_line(cells: Sequence[str]) -> str | None:
    """Return the kind of a line that is not a part; None if it may be one.

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
