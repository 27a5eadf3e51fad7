"""Recipes: how a column of some role is cut, seen by what stands in it.

Patterns are written short: ``<rms_w>`` is a group for a number, ``<coils:\\d>`` a group for what stands
behind the colon, NUM a number, OHM its unit, MIXED a number that may be a fraction, LENGTH one with a unit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

TOKENS = {
    "LENGTH": r"MIXED ?(\"|in|inch|mm|cm)?",
    "MIXED": r"(\d+[ -])?\d+([.,/⁄]\d+)?",
    "NUM": r"\d+([.,]\d+)?",
    "OHM": r"(ohms?|Ω)",
}
SIDES = {"l": "d", "t": "d", "d": "d", "w": "w", "b": "w", "h": "h"}
"""The letters of a header such as L x W x H, and the side each stands for: a length runs into the depth."""
MOST = 0.3
"""A recipe for the whole column wants this share of its cells to have the form."""

Entry = dict[str, Any]
"""What a map says of one column."""


def spelled(short: str) -> str:
    """A short pattern as a regular expression.

    >>> spelled("<rms_w> ?W")
    '(?P<rms_w>\\\\d+([.,]\\\\d+)?) ?W'
    """
    text = re.sub(r"(?<!\?P)<(\w+)>", r"(?P<\1>NUM)", short)
    text = re.sub(r"(?<!\?P)<(\w+):(.*?)>", r"(?P<\1>\2)", text)
    for token, expression in TOKENS.items():
        text = text.replace(token, expression)
    return text


@dataclass(frozen=True, slots=True)
class Column:
    """A column as the proposer sees it."""

    header: str
    role: str
    family: str
    values: Sequence[str]
    """What stands in it, without blanks and words for unknown."""

    def share(self, short: str) -> float:
        """The share of values that a short pattern matches whole."""
        expression = re.compile(spelled(short), re.IGNORECASE)
        hits = sum(expression.fullmatch(" ".join(value.split())) is not None for value in self.values)
        return hits / len(self.values) if self.values else 0.0


@dataclass(frozen=True, slots=True)
class Cut:
    """A recipe's answer: the entry, and what a person should look at."""

    entry: Entry
    look_at: str = ""


def _patterns(*shorts: str | tuple[str, dict[str, str]]) -> Entry:
    return {"patterns": _each(shorts)}


def _each(shorts: Sequence[str | tuple[str, dict[str, str]]]) -> list[Entry]:
    pairs = [(short, None) if isinstance(short, str) else short for short in shorts]
    return [{"match": spelled(short)} | ({"set": set_} if set_ else {}) for short, set_ in pairs]


def impedance(column: Column) -> Cut | None:
    """``2 x 4 Ohm`` is two coils of 4 ohm each, ``4 Ohm`` one."""
    field = {"speaker": "impedance_ohm", "subwoofer": "coil_ohm"}.get(column.family)
    if field is None or not column.share(r"\d ?x ?NUM ?OHM?"):
        return None
    entry = _patterns(rf"<coils:\d> ?x ?<{field}> ?OHM?", (rf"<{field}> ?OHM?", {"coils": "1"}))
    return Cut(entry, "a single number is taken for one coil")


def rms(column: Column) -> Cut | None:
    """Continuous power beside a maximum: the maximum is left out, and never taken for the other."""
    field = "amp_w" if column.family == "head_unit" else "rms_w"
    if column.share(r"NUM ?W? ?rms x \d.*") > MOST:
        return Cut(_patterns(r"<amp_w> ?W? ?rms x <amp_channels:\d+>( ?\(.*max\))?"))
    if column.share(r"NUM ?W? ?rms( ?\(.*max\))?") > MOST:
        return Cut(_patterns(rf"<{field}> ?W? ?rms( ?\(.*max\))?"))
    if column.share(r"NUM ?/ ?NUM ?W?") > MOST:
        sure = re.search(r"(rms|nenn|sinus|dauer).*(max|musik|peak)", column.header, re.IGNORECASE)
        entry = _patterns(rf"<{field}> ?/ ?NUM ?W?", rf"<{field}> ?W? ?rms")
        return Cut(entry, "" if sure else "the first power is taken for the continuous one")
    return None


def power(column: Column) -> Cut | None:
    """A power is continuous where the cells say so; else nobody knows which it is."""
    return rms(column) if column.share(r".*rms.*") > MOST else None


def powers(prefix: str, loads: Sequence[int]) -> Callable[[Column], Cut | None]:
    """``75W @ 4ohm, 112W @ 2ohm``: a power for each load."""

    def recipe(column: Column) -> Cut | None:
        if column.family != "amplifier" or not column.share(r"NUM ?W ?[@(].*"):
            return None
        return Cut({"find": _each([rf"<{prefix}_w_{load}ohm> ?W ?[@(] ?{load} ?OHM\)?" for load in loads])})

    return recipe


def channels(column: Column) -> Cut | None:
    """``4+1`` is four channels and one for bass, ``mono`` one for bass."""
    if column.family != "amplifier" or not column.share(r"mono|\d+ ?\+ ?\d+"):
        return None
    entry = _patterns(
        ("mono", {"full_channels": "0", "bass_channels": "1"}),
        r"<full_channels:\d+> ?\+ ?<bass_channels:\d+>",
        (r"<full_channels:\d+>", {"bass_channels": "0"}),
    )
    return Cut(entry, "mono is taken for one bass channel")


def min_loads(column: Column) -> Cut | None:
    """``2 / 1``: the least load of a full channel, then of a bass channel."""
    if column.family != "amplifier" or not column.share(r"(NUM|-) ?/ ?(NUM|-)"):
        return None
    entry = _patterns(r"<full_min_ohm:NUM|-> ?/ ?<bass_min_ohm:NUM|->")
    return Cut(entry, "the first load is taken for full channels, the second for bass")


def input_range(column: Column) -> Cut | None:
    """``200mV - 6V``: least and greatest input."""
    if column.family != "amplifier" or not column.share(r"NUM ?m?V? ?(-|–|to|bis) ?NUM ?m?V"):
        return None
    return Cut(_patterns(r"<input_min_v:NUM ?m?V?> ?(-|to|bis) ?<input_max_v:NUM ?m?V>"))


def fuse(column: Column) -> Cut | None:
    """``2 x 40`` is two fuses side by side: 80 A in all, and the two in the notes."""
    if not column.share(r"\d+ ?x ?NUM ?A?"):
        return None
    entry = _patterns(r"(?P<notes>(?P<times>\d+) ?x ?<fuse_a:\d+>) ?A?", "<fuse_a> ?A?")
    return Cut(entry, "several fuses are added up")


def dims(column: Column) -> Cut | None:
    """Three sides in one cell, in the order that the header names; a box may have two depths."""
    sides, named = _sides(column)
    look_at = [] if named else ["the order is taken as width, height, depth"]
    if column.family == "enclosure" and column.share("LENGTH x LENGTH x LENGTH ?/ ?LENGTH") > MOST:
        box = " ?x ?".join(f"<{name}:LENGTH>" for name in sides)
        look_at.append("the depth behind the stroke is taken for the top's")
        return Cut(_patterns(f"{box} ?/ ?<d_top_mm:LENGTH>", box), "; ".join(look_at))
    if column.share(r"MIXED ?x ?MIXED ?x ?MIXED ?(in|inch|\"|mm|cm)") < MOST:
        return None
    box = " ?x ?".join(f"<{name}:MIXED>" for name in sides)
    return Cut(_patterns(rf"{box} ?<unit:in|inch|\"|mm|cm>"), "; ".join(look_at))


def _sides(column: Column) -> tuple[list[str], bool]:
    words = re.sub(r"\(.*?\)", "", column.header.casefold())
    letters = re.findall(r"[a-zäöü]", words)
    sides = [SIDES.get(letter, "") for letter in letters if letter != "x"]
    named = "x" in letters and sorted(sides) == ["d", "h", "w"]
    prefix = "body_" if column.family == "head_unit" else ""
    return [f"{prefix}{side}_mm" for side in (sides if named else [*"whd"])], named


def price(column: Column) -> Cut | None:
    """``85.95 ea``: the price with how it is sold."""
    sold = "ea|each|pr|pair|st|paar"
    if column.share(rf"NUM ?/? ?({sold})\.?") < MOST:
        return None
    return Cut(_patterns(rf"<price:[\d.,]+> ?/? ?<pack_of:{sold}>\.?"))


PARAMETERS = (
    r"\bFs ?<fs_hz:NUM( ?Hz)?>",
    r"\bQts ?<qts>",
    r"\bQes ?<qes>",
    r"\bVas ?<vas_l:NUM ?(l|cu\.? ?ft)>\b",
    r"\bXmax ?<xmax_mm:NUM ?(mm|in)>\b",
    r"\bSd ?<sd_cm2:NUM ?(cm2|sq\.? ?in)>",
)
EXTRAS: dict[str, tuple[tuple[str, ...], str]] = {
    "subwoofer": (PARAMETERS, "notes"),
    "speaker": (PARAMETERS, "notes"),
    "enclosure": ((r"<net_l:NUM ?(cu\.? ?ft|l|lit(er|re)s?)> net",), "notes"),
    "head_unit": ((r"<preout_v:NUM ?V> line out x <preouts:\d+>",), "features"),
}


def parameters(column: Column) -> Cut | None:
    """Several figures by name in one cell; what is left over goes where it can be read."""
    find, rest = EXTRAS.get(column.family, ((), "notes"))
    return Cut({"find": _each(find), "rest": rest}) if find else Cut({"field": "notes"})


DESCRIBED: dict[str, tuple[str | tuple[str, dict[str, str]], ...]] = {
    "speaker": ((r"\b(koax|coax)", {"kind": "coaxial"}),),
    "subwoofer": (("single coil", {"coils": "1"}), ("dual coil", {"coils": "2"})),
    "enclosure": (r"<kind:sealed|vented>\b", r"for <drivers:\d+> x <driver_size_in:NUM ?(inch|in|\")>"),
    "head_unit": (
        (r"\bfloating\b", {"screen": "floating"}),
        r"with (a )?<screen_in:NUM ?(inch|in|\")> ?screen",
    ),
}


def model(column: Column) -> Cut | None:
    """A description is the model's name, and says more beside."""
    every = _each(DESCRIBED.get(column.family, ()))
    text = "\n".join(column.values)
    used = [one for one in every if re.search(one["match"], text, re.IGNORECASE)]
    return Cut({"field": "model", "find": used}) if used else None


RECIPES: dict[str, Callable[[Column], Cut | None]] = {
    "impedance": impedance,
    "rms": rms,
    "power": power,
    "full_powers": powers("full", (4, 2)),
    "bass_powers": powers("bass", (4, 2, 1)),
    "bridged": powers("full_bridged", (4,)),
    "channels": channels,
    "min_loads": min_loads,
    "input_range": input_range,
    "fuse": fuse,
    "dims": dims,
    "price": price,
    "parameters": parameters,
    "model": model,
}
"""Role of a column, and the recipe for it; without one, or where it does not apply, the cell fills a field whole."""
