"""The words of suppliers' lists in ``list_words.toml``: headers, families, units of sale."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

_DATA: dict[str, dict[str, Any]] = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))
_LETTERS = str.maketrans({"ł": "l", "ß": "ss", "ø": "o", "đ": "d", "⌀": "o", "œ": "oe"})
_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")


def without_accents(text: str) -> str:
    """Return a text in lower case without accents.

    >>> without_accents("Größe Ø"), without_accents("Głębokość")
    ('grosse o', 'glebokosc')
    """
    plain = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    return "".join(letter for letter in plain if not unicodedata.combining(letter))


def plain_words(text: str) -> str:
    """Return a text for comparison: lower case, without accents, brackets and punctuation.

    >>> plain_words("Mtg. depth (in.)"), plain_words("Prix H.T."), plain_words("mountingDepth_mm")
    ('mtg depth', 'prix ht', 'mounting depth mm')
    """
    parted = re.sub(r"(?<=[a-z]{2})(?=[A-Z][a-z])", " ", re.sub(r"(?<=\w) ?#", " no", text))
    bare = re.sub(r"\b(\w)\.(?=\w\b)", r"\1", _BRACKETS.sub(" ", without_accents(parted)))
    return " ".join(re.sub(r"[^\w]+|_", " ", bare).split())


def _split(text: str) -> tuple[str, ...]:
    return tuple(word for part in text.split("|") if (word := part.strip()))


def _words(section: str) -> dict[str, tuple[str, ...]]:
    return {name: _split(text) for name, text in _DATA[section].items()}


HEADERS = _words("headers")
"""Headers by role of a column."""
NEUTRAL = frozenset(_words("neutral")["words"])
"""Words of a header that do not change the meaning of the others."""
FAMILY_WORDS = _words("families")
"""Words for each family in a column, a title, a sub-heading or a file's name."""
OTHER_THINGS = _words("other")["words"]
"""Products of no family whose names contain a family's word."""
HEAD_ENDS = frozenset(_words("heads")["stop"])
"""Prepositions after which a description is about something else."""
UNKNOWN = frozenset(_words("unknown")["words"])
"""Words for an unknown figure."""
ALWAYS_UNKNOWN = _words("unknown")["always"]
"""Those that always mean that."""
SALE_UNITS = {word: count for count, words in _words("sale").items() for word in words}
"""Words for units of sale, and their pieces per pack."""
VALUE_WORDS: dict[str, dict[str, str]] = {
    field: {word: ours for ours, words in choices.items() for word in _split(words)}
    for field, choices in _DATA["values"].items()
}
"""Suppliers' words and ours, by field."""
NO_PARTS = tuple(_words("lines").items())
"""Lines that are not parts, by their first words."""
MONTHS = frozenset(_words("months")["words"])
"""Words of dates in a list's name."""


@cache
def roles_by_words() -> dict[str, tuple[str, ...]]:
    """Return the possible roles of a column by its header's words, likeliest first."""
    found: dict[str, tuple[str, ...]] = {}
    for role, names in HEADERS.items():
        for name in names:
            found[plain_words(name)] = (*found.get(plain_words(name), ()), role)
    return found


@cache
def families_by_words() -> dict[str, str]:
    """Return the family of each word or phrase; empty if it has none."""
    found = {plain_words(name): family for family, names in FAMILY_WORDS.items() for name in (*names, family)}
    return found | {plain_words(name): "" for name in OTHER_THINGS}


def families_in(text: str, *, head: bool = False) -> list[str]:
    """Return the families that a text names, in order, by the longest phrases; empty text for other products.

    Parameters
    ----------
    head
        Whether only the head of a description counts: the words before "for", "mit", "avec".

    >>> families_in("Speaker cable 10 m"), families_in("Adapterring for loudspeakers", head=True)
    (['install'], ['adapter'])
    """
    words = plain_words(re.split(r"[,;(]", text, maxsplit=1)[0] if head else text).split()
    if head:
        words = words[: next((place for place, word in enumerate(words) if place and word in HEAD_ENDS), len(words))]
    known, found, place = families_by_words(), [], 0
    while place < len(words):
        sizes = (size for size in (3, 2, 1) if " ".join(words[place : place + size]) in known)
        size = next(sizes, 0)
        if size:
            found.append(known[" ".join(words[place : place + size])])
        place += size or 1
    return list(dict.fromkeys(found))


def ours(field: str, texts: Iterable[str]) -> dict[str, str]:
    """Return the known suppliers' words among some texts, with ours, for one field."""
    words = {plain_words(word): own for word, own in VALUE_WORDS.get(field, {}).items()}
    return {text: words[plain_words(text)] for text in texts if plain_words(text) in words}
