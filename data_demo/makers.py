"""The invented makers, and the hand in which each one's sheet is written."""

from __future__ import annotations

from typing import NamedTuple


class Maker(NamedTuple):
    """A maker's name, how its lengths are written, and how it numbers its parts."""

    name: str
    hand: str
    numbers_only: bool


MAKERS = (
    Maker("Skerrowe", "plain", False),
    Maker("Havnmar", "comma", False),
    Maker("Kittowake", "fraction", False),
    Maker("Fulmarsk", "mm", True),  # numbers with leading zeros, such as 00123
    Maker("Guillemar", "plain", False),
    Maker("Bonxmere", "inch_mark", False),
    Maker("Voeholm", "comma", True),
    Maker("Garefowle", "plain", False),
    Maker("Stackrund", "mm", False),
    Maker("Noustrand", "plain", False),
)
"""Invented words of sea birds, islands and rocks. Hands: see ``hands.py``."""

HAND_OF: dict[str, str] = {maker.name: maker.hand for maker in MAKERS}
NUMBERS_ONLY = frozenset(maker.name for maker in MAKERS if maker.numbers_only)
