"""Judge whether a text makes sense in an encoding: its words have the letters of one language.

A code page gives every byte a meaning, so a wrong one shows only in the words: ``G³oœnik`` has a sign within a word,
``Głośnik`` is Polish. The alphabets are common knowledge, with no published source.
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
"""Letters of each language beyond a to z."""

LAST_LATIN = "ɏ"
"""Letters of other scripts come after it; no word mixes them with a to z."""

SIGNS = "€£°²³½¼¾±×µØøΩ–—„“”‚‘’…•™®©§«»´·¿¡\u00a0'"
"""Characters before or after a word, or by themselves, but not within a word."""

CODE_PAGES = ("cp1252", "cp1250", "iso8859-2", "cp852", "cp850", "cp1251", "cp1254", "cp1253", "mac-roman")
"""Encodings of a list that is not UTF-8, most common first."""

ENOUGH = 0.9
"""A text makes sense if this share of its words does: makers' names may be in another language."""
MOST_WORDS = 5_000
_WORD = re.compile(rb"[A-Za-z\x80-\xff]*[\x80-\xff][A-Za-z\x80-\xff]*")
_BLOCK = 1 << 20


def odd_words(path: Path) -> list[bytes]:
    """Return the distinct words of a file with a byte beyond ASCII, up to `MOST_WORDS`."""
    found: dict[bytes, None] = {}
    with path.open("rb") as stream:
        while len(found) < MOST_WORDS and (block := stream.read(_BLOCK)):
            found |= dict.fromkeys(_WORD.findall(block + stream.readline()))
    return list(found)[:MOST_WORDS]


def sense(words: Iterable[bytes], encoding: str) -> float:
    """Return the share of words in one language, in an encoding; 0 if they cannot be decoded."""
    try:
        texts = [word.decode(encoding) for word in words]
    except UnicodeDecodeError:
        return 0.0
    most = max(sum(_is_word(text, f"{letters}{letters.upper()}") for text in texts) for letters in LANGUAGES.values())
    return most / max(len(texts), 1)


def sensible_encodings(words: list[bytes]) -> list[str]:
    """Return the code pages in which nearly all words make sense; of two that decode alike, the more common one."""
    shares = {encoding: sense(words, encoding) for encoding in CODE_PAGES}
    best = max(shares.values())
    read: dict[tuple[str, ...], str] = {}
    for encoding, share in shares.items():
        if share >= ENOUGH and (share == best or encoding == CODE_PAGES[0]):
            read.setdefault(tuple(word.decode(encoding) for word in words), encoding)
    return list(read.values())


def _is_word(text: str, letters: str) -> bool:
    """Whether a text is a word of ASCII and these letters, with signs around it, and no capital after a small one."""
    inner = text.strip(SIGNS)
    latin = letters[0] < LAST_LATIN
    known = all((latin and character.isascii()) or character in letters for character in inner)
    capitals = (b for a, b in pairwise(inner) if a.islower() and b.isupper())
    return known and all(map(str.isascii, capitals))
