"""Recipes: the templates by which a column of some role is cut, chosen by what stands in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from catalog_schema.agreements import OVERALL
from catalog_schema.units import TYPOGRAPHY
from matcher.store.cell_maps import mapped_columns
from matcher.store.list_words import SALE_UNITS
from matcher.store.templates import make_template

SIDES = {"l": "d", "t": "d", "d": "d", "w": "w", "b": "w", "h": "h"}
"""The letters of a header such as L x W x H, and the side each stands for: a length runs into the depth."""
MOST = 0.3
"""A recipe for the whole column wants this share of its cells to have the form."""

Entry = dict[str, Any]
"""What a map says of one column."""
Written = str | tuple[str, dict[str, str]]
"""A template, or one with the fields that it sets."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column as the proposer sees it."""

    header: str
    role: str
    family: str
    values: Sequence[str]
    """What stands in it, without blanks and words for unknown."""
    unknown: Sequence[str] = ()

    def share(self, *templates: Written) -> float:
        """The share of values that one of the templates matches whole."""
        return len(self.matched(*templates)) / len(self.values) if self.values else 0.0

    def matched(self, *templates: Written) -> list[str]:
        """The values that one of the templates matches whole."""
        made = [self._template(one) for one in templates]
        return [value for value in self.values if any(one.matches(_plain(value)) for one in made)]

    def finds(self, template: Written) -> bool:
        """Whether a template is found in any of the values."""
        made = self._template(template)
        return any(made.find(_plain(value)) for value in self.values)

    def _template(self, one: Written) -> Any:
        text = one if isinstance(one, str) else one[0]
        words = {"": list(self.unknown), "pack_of": list(SALE_UNITS)}
        return make_template(text, mapped_columns(self.family), words)


def _plain(value: str) -> str:
    return " ".join(value.translate(TYPOGRAPHY).split())


@dataclass(frozen=True, slots=True)
class Cut:
    """A recipe's answer: the entry, and what a person should look at."""

    entry: Entry
    look_at: str = ""


def _templates(*written: Written) -> Entry:
    return {"templates": _each(written)}


def _each(written: Sequence[Written]) -> list[Entry]:
    pairs = [(one, None) if isinstance(one, str) else one for one in written]
    return [{"template": text} | ({"set": set_} if set_ else {}) for text, set_ in pairs]


def impedance(column: Column) -> Cut | None:
    """``2 x 4 Ohm`` is two coils of 4 ohm each, ``4 Ohm`` one."""
    field = {"speaker": "impedance_ohm", "subwoofer": "coil_ohm"}.get(column.family)
    if field is None or not column.share(f"{{coils}} x {{{field}}}"):
        return None
    return Cut(
        _templates(f"{{coils}} x {{{field}}}", (f"{{{field}}}", {"coils": "1"})),
        "a single number is taken for one coil",
    )


def rms(column: Column) -> Cut | None:
    """Continuous power beside a maximum: the maximum is compared with it, and never taken for it."""
    field = "amp_w" if column.family == "head_unit" else "rms_w"
    if field not in mapped_columns(column.family):
        return None
    several = ("{amp_w} rms x {amp_channels}", "{amp_w} rms x {amp_channels} ({any} max)")
    if column.family == "head_unit" and column.share(*several) > MOST:
        return Cut(_templates(*several))
    alone = (f"{{{field}}} rms", f"{{{field}}} rms ({{peak_w}} max)")
    if column.share(*alone) > MOST:
        return Cut(_templates(*alone))
    both = (f"{{{field}}} / {{peak_w}}", f"{{{field}}} rms")
    if column.share(*both) <= MOST:
        return None
    sure = re.search(r"(rms|nenn|sinus|dauer).*(max|musik|peak)", column.header, re.IGNORECASE)
    return Cut(_templates(*both), "" if sure else "the first power is taken for the continuous one")


def power(column: Column) -> Cut | None:
    """A power is continuous where the cells say so; else nobody knows which it is."""
    says_rms = sum("rms" in value.casefold() for value in column.values)
    return rms(column) if says_rms > MOST * len(column.values) else None


def powers(prefix: str, loads: Sequence[int]) -> Callable[[Column], Cut | None]:
    """``75W @ 4ohm, 112W @ 2ohm``: a power for each load."""

    def recipe(column: Column) -> Cut | None:
        forms = [f"{{{prefix}_w_{load}ohm}} {form}" for load in loads for form in (f"@ {load} ohm", f"({load} ohm)")]
        if column.family != "amplifier" or not any(column.finds(form) for form in forms):
            return None
        return Cut({"find": _each(forms)})

    return recipe


def channels(column: Column) -> Cut | None:
    """``4+1`` is four channels and one for bass, ``mono`` one for bass."""
    both = "{full_channels} + {bass_channels}"
    if column.family != "amplifier" or not column.share("mono", both):
        return None
    mono = ("mono", {"full_channels": "0", "bass_channels": "1"})
    entry = _templates(mono, both, ("{full_channels}", {"bass_channels": "0"}))
    return Cut(entry, "mono is taken for one bass channel")


def min_loads(column: Column) -> Cut | None:
    """``2 / 1``: the least load of a full channel, then of a bass channel."""
    both = "{full_min_ohm} / {bass_min_ohm}"
    if column.family != "amplifier" or not column.share(both):
        return None
    return Cut(_templates(both), "the first load is taken for full channels, the second for bass")


def input_range(column: Column) -> Cut | None:
    """``200mV - 6V``: least and greatest input."""
    forms = [f"{{input_min_v}} {mark} {{input_max_v}}" for mark in ("-", "to", "bis")]
    if column.family != "amplifier" or not column.share(*forms):
        return None
    return Cut(_templates(*(form for form in forms if column.share(form))))


def fuse(column: Column) -> Cut | None:
    """``2 x 40`` is two fuses side by side: 80 A in all, and the two in the notes."""
    several = "{times} x {fuse_a}"
    return Cut(_templates(several, "{fuse_a}"), "several fuses are added up") if column.share(several) else None


def frequencies(column: Column) -> Cut | None:
    """``60-20k Hz``: the lower and the upper end."""
    both = "{low_hz} - {high_hz}"
    return Cut(_templates(both)) if column.family == "speaker" and column.share(both) > MOST else None


def dims(column: Column) -> Cut | None:
    """Three sides in one cell, in the order that the header names; a box may have two depths."""
    sides, named = _sides(column)
    if column.family == "speaker":
        return _overall_depth(column, sides)
    look_at = [] if named else ["the order is taken as width, height, depth"]
    if not mapped_columns(column.family).keys() >= set(sides):
        return None
    box = " x ".join(f"{{{name}}}" for name in sides)
    if column.family == "enclosure" and column.share(f"{box} / {{d_top_mm}}") > MOST:
        look_at.append("the depth behind the stroke is taken for the top's")
        return Cut(_templates(f"{box} / {{d_top_mm}}", box), "; ".join(look_at))
    return Cut(_templates(box), "; ".join(look_at)) if column.share(box) >= MOST else None


def _overall_depth(column: Column, sides: Sequence[str]) -> Cut | None:
    """A loudspeaker's dimensions over all: its mounting depth is held against the depth among them."""
    box = " x ".join(f"{{{OVERALL}}}" if side == "d_mm" else "{any}" for side in sides)
    forms = (box, f"{box} ({{any}})")
    return Cut(_templates(*forms)) if column.share(*forms) >= MOST else None


def _sides(column: Column) -> tuple[list[str], bool]:
    words = re.sub(r"\(.*?\)", "", column.header.casefold())
    letters = re.findall(r"[a-zäöü]", words)
    sides = [SIDES.get(letter, "") for letter in letters if letter != "x"]
    named = "x" in letters and sorted(sides) == ["d", "h", "w"]
    prefix = "body_" if column.family == "head_unit" else ""
    return [f"{prefix}{side}_mm" for side in (sides if named else [*"whd"])], named


def price(column: Column) -> Cut | None:
    """``85.95 ea``: the price with how it is sold."""
    forms = ("{price} {pack_of}", "{price} / {pack_of}")
    return Cut(_templates(*(form for form in forms if column.share(form)))) if column.share(*forms) >= MOST else None


PARAMETERS = ("Fs {fs_hz}", "Qts {qts}", "Qes {qes}", "Vas {vas_l}", "Xmax {xmax_mm}", "Sd {sd_cm2}")
EXTRAS: dict[str, tuple[tuple[str, ...], str]] = {
    "subwoofer": (PARAMETERS, "notes"),
    "speaker": (tuple(one for one in PARAMETERS if "qes" not in one), "notes"),
    "enclosure": (("{net_l} net",), "notes"),
    "head_unit": (("{preout_v} line out x {preouts}",), "features"),
}


def parameters(column: Column) -> Cut | None:
    """Several figures by name in one cell; what is left over goes where it can be read."""
    find, rest = EXTRAS.get(column.family, ((), "notes"))
    return Cut({"find": _each(find), "rest": rest}) if find else Cut({"field": "notes"})


DESCRIBED: dict[str, tuple[Written, ...]] = {
    "speaker": (("koax", {"kind": "coaxial"}), ("coax", {"kind": "coaxial"})),
    "subwoofer": (("single coil", {"coils": "1"}), ("dual coil", {"coils": "2"})),
    "enclosure": ("{kind}", "for {drivers} x {driver_size_in}"),
    "head_unit": (
        ("floating", {"screen": "floating"}),
        "with {screen_in} screen",
        "with a {screen_in} screen",
    ),
}


def model(column: Column) -> Cut | None:
    """A description is the model's name, and says more beside."""
    used = [one for one in DESCRIBED.get(column.family, ()) if column.finds(one)]
    return Cut({"field": "model", "find": _each(used)}) if used else None


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
    "range": frequencies,
    "dims": dims,
    "price": price,
    "parameters": parameters,
    "model": model,
}
"""Role of a column, and the recipe for it; without one, or where it does not apply, the cell fills a field whole."""
