"""Whether a text makes sense in an encoding: its words are of one language's letters.

A code page gives every byte a meaning, so that a wrong one is found by its words only: ``G³oœnik`` has a sign
within a word, ``Głośnik`` is Polish. The alphabets are common knowledge, with no published source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path

LANGUAGES = {
    "German": "äöüß",
    "French": "àâæçéèêëîïôœùûüÿ",
    "Spanish": "áéíóúñü",
    "Portuguese": "ãâáàçéêíóôõú",
    "Italian": "àèéìíòóù",
    "Dutch": "ëïéèöüá",
    "Swedish, Finnish": "åäöé",
    "Danish, Norwegian": "åæøé",
    "Polish": "ąćęłńóśźż",
    "Czech": "áčďéěíňóřšťúůýž",
    "Slovak": "áäčďéíľĺňóôŕšťúýž",
    "Hungarian": "áéíóöőúüű",
    "Slovene, Croatian": "čćđšž",
    "Romanian": "ăâîșțşţ",
    "Turkish": "çğıöşüâîİ",
    "Russian": "абвгдеёжзийклмнопрстуфхцчшщъыьэюя",
    "Greek": "αβγδεζηθικλμνξοπρστυφχψωςάέήίόύώϊϋΐΰ",
}
"""Language, and its letters beyond a to z."""

LAST_LATIN = "ɏ"
"""Letters of other scripts come behind it; no word mixes them with a to z."""

SIGNS = "€£°²³½¼¾±×µØøΩ–—„“”‚‘’…•™®©§«»´·¿¡\u00a0'"
"""Characters before or behind a word, or by themselves; within a word they make no sense."""

CODE_PAGES = ("cp1252", "cp1250", "iso8859-2", "cp852", "cp850", "cp1251", "cp1254", "cp1253", "mac-roman")
"""Encodings of a list that is not UTF-8, the commonest first."""

ENOUGH = 0.9
"""A text makes sense where this share of its words does: names of makers may be of another language."""
MOST_WORDS = 5_000
_WORD = re.compile(rb"[A-Za-z\x80-\xff]*[\x80-\xff][A-Za-z\x80-\xff]*")
_BLOCK = 1 << 20


def odd_words(path: Path) -> list[bytes]:
    """The different words of a file that have a byte beyond ASCII, up to `MOST_WORDS`."""
    found: dict[bytes, None] = {}
    with path.open("rb") as stream:
        while len(found) < MOST_WORDS and (block := stream.read(_BLOCK)):
            found |= dict.fromkeys(_WORD.findall(block + stream.readline()))
    return list(found)[:MOST_WORDS]


def sense(words: Iterable[bytes], encoding: str) -> float:
    """The share of words that are of one language, read in an encoding; 0 if they cannot be read in it."""
    try:
        texts = [word.decode(encoding) for word in words]
    except UnicodeDecodeError:
        return 0.0
    most = max(sum(_is_word(text, f"{letters}{letters.upper()}") for text in texts) for letters in LANGUAGES.values())
    return most / max(len(texts), 1)


def sensible_encodings(words: list[bytes]) -> list[str]:
    """The code pages in which most words make sense, and nearly all; of two that read them alike the commoner one."""
    shares = {encoding: sense(words, encoding) for encoding in CODE_PAGES}
    best = max(shares.values())
    read: dict[tuple[str, ...], str] = {}
    for encoding, share in shares.items():
        if share >= ENOUGH and (share == best or encoding == CODE_PAGES[0]):
            read.setdefault(tuple(word.decode(encoding) for word in words), encoding)
    return list(read.values())


def _is_word(text: str, letters: str) -> bool:
    """Whether a text is a word of ASCII and these letters, with signs around it, and no capital behind a small one."""
    inner = text.strip(SIGNS)
    latin = letters[0] < LAST_LATIN
    known = all((latin and character.isascii()) or character in letters for character in inner)
    capitals = (b for a, b in pairwise(inner) if a.islower() and b.isupper())
    return known and all(map(str.isascii, capitals))
