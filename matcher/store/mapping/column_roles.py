"""The possible roles of a column by its header: ``Mounting depth (in.)`` is a depth, ``Grille depth`` is unknown.

Every word of a header has to be understood: as a word of a role, a unit, or a neutral word.
"""

from __future__ import annotations

import re
from functools import lru_cache

from catalog_schema.units import unit_spelled
from matcher.store.lists.list_words import HEADERS, NEUTRAL, plain_words, roles_by_words, without_accents

CURRENCIES = frozenset(["eur", "usd", "gbp", "chf", "sek", "nok", "dkk", "pln", "czk", "huf", "kc", "zl", "euro"])
_SIDE_WORDS = {
    word: side
    for side, words in {
        "w": "w b s wide breite width sir sirka szer an larg",
        "h": "h v height high hohe vys vyska wys al alto haut",
        "d": "d t p g f depth deep tiefe prof hl gl fondo",
    }.items()
    for word in words.split()
}
_ORDERS = {"lwh": "dwh", "lbh": "dwh", "lhp": "whd", "lap": "whd", "svh": "whd", "swg": "whd", "hsv": "dwh"}
"""Letters with another meaning in their language, and the sides in their order: width, height, depth."""
_SIDE = r"(?:[a-z]{1,6})"
_SIDES = re.compile(rf"(?<![a-z])({_SIDE}) ?[x×*/] ?({_SIDE}) ?[x×*/] ?({_SIDE})(?![a-z])(?P<last>.*)")
LETTER_ROLES = {"w": "width", "b": "width", "h": "height", "d": "depth", "t": "depth"}
_MAXIMUM = re.compile(r"\b(max|maks|peak|musik|music|spitze|pmpo|program|crete|massima|maxima)", re.IGNORECASE)
_RMS = re.compile(r"\b(rms|sinus|nenn|nominal|continuous|aes|znam|jmenovit)", re.IGNORECASE)


def sides_named(header: str) -> tuple[str, str]:
    """Return the sides in a header such as ``L x W x H``, in order, as letters of w, h, d; and the rest after them.

    >>> sides_named("Rozměry š x v x h (mm)"), sides_named("Outside W x H x D W"), sides_named("Max")
    (('whd', ''), ('whd', 'w'), ('', ''))
    """
    text = re.sub(r"(?<![a-z])([a-z])x([a-z])x([a-z])(?![a-z])", r"\1 x \2 x \3", without_accents(header))
    match = _SIDES.search(text)
    if match is None:
        return "", ""
    letters = [match[1], match[2], match[3]]
    joined = "".join(letters)
    order = _ORDERS.get(joined) or "".join(_SIDE_WORDS.get(letter, "?") for letter in letters)
    return (order, plain_words(match["last"])) if sorted(order) == ["d", "h", "w"] else ("", "")


@lru_cache(maxsize=1 << 12)
def roles_of(header: str) -> tuple[str, ...]:
    """Return the possible roles of a column by its header, likeliest first; empty if one of its words is unknown.

    >>> roles_of("Mounting depth (in.)"), roles_of("Parameters Fs"), roles_of("Grille depth")
    (('depth',), ('fs',), ())
    """
    order, behind = sides_named(header)
    if order:
        if behind in LETTER_ROLES:
            return (LETTER_ROLES[behind],)
        return ("depth_two",) if behind and "depth_two" in _by_words(behind) else ("dims",)
    words = plain_words(header)
    found = _by_words(words) or _by_phrase(words.split()) or _by_words(plain_words(re.sub(r"[()\[\]]", " ", header)))
    return tuple(dict.fromkeys(_as_power(role, header) for role in found))


def names_a_role(header: str) -> bool:
    """Whether a header has a word of some role; with an unknown word it means something else.

    >>> names_a_role("Grille depth"), names_a_role("K5")
    (True, False)
    """
    return any(len(word) > 2 and _by_words(word) for word in plain_words(header).split())


def _as_power(role: str, header: str) -> str:
    """Return the role of a continuous or maximum power, by the header's words, even in brackets."""
    text = without_accents(header)
    if role not in ("power", "rms", "full_powers"):
        return role
    maximum, continuous = _MAXIMUM.search(text), _RMS.search(text)
    if maximum and not continuous:
        return "peak"
    return "rms" if continuous and role == "power" else role


def _by_words(words: str) -> tuple[str, ...]:
    return roles_by_words().get(words, ())


def _by_phrase(words: list[str]) -> tuple[str, ...]:
    """Return the roles of the longest known phrase in a header, if its other words are neutral."""
    count = len(words)
    if count > 8:
        return ()
    spans = [(size, start) for size in range(count, 0, -1) for start in range(count - size, -1, -1)]
    for size, start in spans:
        found = _by_words(" ".join(words[start : start + size]))
        rest = words[:start] + words[start + size :]
        if found and all(_is_neutral(word) or ("rms" in found and _MAXIMUM.match(word)) for word in rest):
            return found
        if rest and rest[-1] in LETTER_ROLES and start + size < count and all(map(_is_neutral, rest[:-1])):
            role = _with_letter(found, rest[-1])
            if role:
                return role
    return ()


def _with_letter(found: tuple[str, ...], letter: str) -> tuple[str, ...]:
    """Return a role with the letter of a side after it: ``Dimensions W``, ``Cut-out H``."""
    if "dims" in found:
        return (LETTER_ROLES[letter],)
    if letter == "h":
        return tuple(f"{role}_h" for role in found if f"{role}_h" in HEADERS)
    return found if letter in "wb" else ()


def _is_neutral(word: str) -> bool:
    if word in LETTER_ROLES:
        return False
    is_unit = unit_spelled(word) is not None
    return word in NEUTRAL or word in CURRENCIES or is_unit or word in ("rms", "1w", "1m", "2", "83v")


_LOAD = re.compile(r"(?<!\d)([124]) ?(?:ohms?\b|Ω|ω)", re.IGNORECASE)


def power_into(header: str) -> str | None:
    """Return the field of an amplifier's power into a load that a header names.

    >>> power_into("RMS per channel 4 ohm"), power_into("Mono RMS @ 2Ω"), power_into("Max power 4 ohm")
    ('full_w_4ohm', 'bass_w_2ohm', None)
    """
    load, low = _LOAD.search(header), without_accents(header)
    if load is None or (_MAXIMUM.search(low) and not _RMS.search(low)) or re.search(r"\b(min|stab|load)", low):
        return None
    bridged = re.search(r"brid|bruck|pont|most|mustek|puente", low)
    is_bass = load[1] == "1" or re.search(r"\b(bass|sub|mono)", low)
    field = f"{'full_bridged' if bridged else 'bass' if is_bass else 'full'}_w_{load[1]}ohm"
    return None if field in ("full_bridged_w_2ohm", "full_bridged_w_1ohm") else field
