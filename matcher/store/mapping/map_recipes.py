"""Recipes: the templates by which a column of some role is cut, chosen by what stands in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from catalog_schema.agreements import OVERALL
from matcher.store.lists.list_words import VALUE_WORDS, without_accents
from matcher.store.mapping.cell_maps import mapped_columns
from matcher.store.mapping.column_roles import sides_named
from matcher.store.mapping.described import model, parameters
from matcher.store.mapping.recipe_columns import MOST, Column, Cut, Written, as_templates, each_template


def impedance(column: Column) -> Cut | None:
    """``2 x 4 Ohm``, ``DVC 4`` and ``4 + 4`` are two coils of 4 ohm each, ``4 Ohm`` one."""
    field = {"speaker": "impedance_ohm", "subwoofer": "coil_ohm"}.get(column.family)
    if field is None:
        return None
    coils: list[Written] = [f"{{coils}} x {{{field}}}"]
    for words, count in (("dual", "2"), ("dvc", "2"), ("d", "2"), ("svc", "1"), ("single", "1"), ("s", "1")):
        coils += [(f"{words} {{{field}}}", {"coils": count}), (f"{{{field}}} {words}", {"coils": count})]
    ends = ("", " ohm")
    coils += [(f"{ohm} + {ohm}{end}", {"coils": "2", field: ohm}) for ohm in ("1", "2", "4", "8") for end in ends]
    used = [one for one in coils if column.share(one)]
    if not used:
        return None
    return Cut(as_templates(*used, (f"{{{field}}}", {"coils": "1"})))


def rms(column: Column) -> Cut | None:
    """Continuous power beside a maximum: the maximum is compared with it, and never taken for it."""
    field = "amp_w" if column.family == "head_unit" else "rms_w"
    if field not in mapped_columns(column.family):
        return None
    if column.family == "head_unit":
        rms = "" if column.role == "rms" else " rms"
        several = [
            f"{first}{end}"
            for first in (
                f"{{amp_channels}} x {{amp_w}}{rms}",
                f"{{amp_w}}{rms} x {{amp_channels}}",
                "{amp_w} rms x {amp_channels}",
            )
            for end in ("", " ({any} max)", " / {any}")
        ]
        used = [one for one in several if column.share(one)]
        return Cut(as_templates(*used)) if used and column.share(*used) > MOST else None
    alone = (
        f"{{{field}}} rms",
        f"rms {{{field}}}",
        f"{{{field}}} rms ({{peak_w}} max)",
        f"{{{field}}} rms / {{peak_w}} max",
    )
    if column.share(*alone) > MOST:
        return Cut(as_templates(*(one for one in alone if column.share(one))))
    both = (f"{{{field}}} / {{peak_w}}", f"{{{field}}} rms")
    if column.share(*both) <= MOST:
        return None
    header = without_accents(column.header)
    sure = re.search(r"(rms|nenn|sinus|dauer|cont|nom).*(max|musik|peak|maks|crete)", header)
    bare = (f"{{{field}}}",) if sure and not column.share("{any} max", "max {any}") else ()
    return Cut(as_templates(*both, *bare), "" if sure else "the first power is taken for the continuous one")


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
        return Cut({"find": each_template(forms)})

    return recipe


def load_power(column: Column) -> Cut | None:
    """``4 x 75 W``: an amplifier's power into the load that the header names, for each of so many channels."""
    power = f"{{{column.role}}}"
    forms: list[str] = [f"{count} x {power}" for count in range(1, 9)] + [
        f"{power} w x {count}" for count in range(1, 9)
    ]
    used = [one for one in forms if column.share(one)]
    return Cut(as_templates(power, *used)) if used else None


def channels(column: Column) -> Cut | None:
    """``4+1`` is four channels and one for bass, ``mono`` one for bass."""
    both = "{full_channels} + {bass_channels}"
    mono = tuple(
        (word, {"full_channels": "0", "bass_channels": "1"}) for word in ("mono", "monoblock", "1 mono", "1 (mono)")
    )
    if column.family != "amplifier" or not column.share(*mono, both):
        return None
    used = [one for one in mono if column.share(one)]
    words: tuple[Written, ...] = tuple(
        (word, {"full_channels": count, "bass_channels": "0"}) for word, count in (("stereo", "2"), ("quad", "4"))
    )
    return Cut(as_templates(*used, both, *words, ("{full_channels}", {"bass_channels": "0"})))


def min_loads(column: Column) -> Cut | None:
    """``2 / 1``: the least load of a full channel, then of a bass channel."""
    both = "{full_min_ohm} / {bass_min_ohm}"
    if column.family != "amplifier" or not column.share(both):
        return None
    return Cut(as_templates(both), "the first load is taken for full channels, the second for bass")


def coils(column: Column) -> Cut | None:
    """A column of coils may hold their impedance, too: ``2 x 4``."""
    return impedance(column) if column.share("{coils} x {any}", "{any} + {any}") > MOST else None


def bolts(column: Column) -> Cut | None:
    """``4 x Ø 112`` is a circle of four holes, ``4 x 106 x 176`` four holes that far across and down."""
    prefix = {"speaker": "", "adapter": "fits_"}.get(column.family)
    if prefix is None:
        return None
    circle, across = f"{{{prefix}bolt_circle_mm}}", f"{{{prefix}bolt_w_mm}} x {{{prefix}bolt_h_mm}}"
    count = f"{{{prefix}bolt_count}}"
    forms = [
        f"4 x {across}",
        f"{count} x Ø {circle}",
        f"{count} x {circle}",
        f"{count} / {circle}",
        f"{count} on {circle}",
    ]
    used = [one for one in forms if column.share(one)]
    if not used:
        return None
    return Cut(as_templates(*used, *(one for one in (f"Ø {circle}", circle) if column.share(one))))


def opening(column: Column) -> Cut | None:
    """``152 x 221 mm``: across and down; a round one has one measure."""
    stem = {
        "cutout": {"speaker": "cutout", "head_unit": "body", "adapter": "fits"},
        "flange": {"speaker": "flange", "head_unit": "face"},
        "face": {"head_unit": "face"},
    }[column.role].get(column.family)
    both = f"{{{stem}_w_mm}} x {{{stem}_h_mm}}"
    if stem is None or not column.share(both):
        return None
    alone = [one for one in (f"Ø {{{stem}_w_mm}}", f"{{{stem}_w_mm}}") if column.share(one)]
    return Cut(as_templates(both, *alone))


def sale(column: Column) -> Cut | None:
    """``box of 2``, ``2 pcs``: the pieces in a pack."""
    counted = ["{pack_of} pcs", "{pack_of} pc", "{pack_of} szt", "{pack_of} ks", "{pack_of} er pack", "{pack_of} stk"]
    forms = [f"{word} of {{pack_of}}" for word in ("box", "pack", "set", "carton", "bag", "card")]
    forms += [f"{word} {{pack_of}}" for word in ("lot de", "boite de", "karton", "conf", "conf.", "pack", "box", "ve")]
    forms += counted
    used = [one for one in forms if column.share(one)]
    return Cut(as_templates("{pack_of}", *used)) if used else None


def two_depths(column: Column) -> Cut | None:
    """``24/20 cm``: an enclosure's depth at the floor, then at the top."""
    both = "{d_mm} / {d_top_mm}"
    if column.family != "enclosure" or not column.share(both):
        return None
    return Cut(as_templates(both, "{d_mm}"))


def drivers(column: Column) -> Cut | None:
    """``1 x 8"``: how many drivers an enclosure takes, and of which size."""
    forms = ("{drivers} x {driver_size_in}", ("{driver_size_in}", {"drivers": "1"}))
    used = [one for one in forms if column.share(one)]
    return Cut(as_templates(*used)) if column.family == "enclosure" and used else None


def box_kind(column: Column) -> Cut | None:
    """``ported 35 Hz``: how an enclosure works, and what its port is tuned to."""
    tuned = "{kind} {tuned_hz}"
    if column.family != "enclosure" or not column.share(tuned):
        return None
    return Cut(as_templates(tuned, "{kind}"), words={"kind": VALUE_WORDS["kind"]})


def input_range(column: Column) -> Cut | None:
    """``200mV - 6V``: least and greatest input."""
    forms = [f"{{input_min_v}} {mark} {{input_max_v}}" for mark in ("-", "to", "bis")]
    if column.family != "amplifier" or not column.share(*forms):
        return None
    return Cut(as_templates(*(form for form in forms if column.share(form))))


def fuse(column: Column) -> Cut | None:
    """``2 x 40`` is two fuses side by side: 80 A in all, and the two in the notes."""
    several = "{times} x {fuse_a}"
    return Cut(as_templates(several, "{fuse_a}"), "several fuses are added up") if column.share(several) else None


def frequencies(column: Column) -> Cut | None:
    """``60-20k Hz``: the lower and the upper end."""
    both = "{low_hz} - {high_hz}"
    return Cut(as_templates(both)) if column.family == "speaker" and column.share(both) > MOST else None


def dims(column: Column) -> Cut | None:
    """Three sides in one cell, in the order that the header names; an enclosure may have two depths.

    Sides that nobody names are taken if two depths, or a body of the usual width and height, tell their order.
    """
    order, _ = sides_named(column.header)
    prefix = "body_" if column.family == "head_unit" else ""
    sides = [f"{prefix}{side}_mm" for side in order or "whd"]
    if column.family == "speaker":
        return _overall_depth(column, sides)
    if not mapped_columns(column.family).keys() >= set(sides):
        return None
    box = " x ".join(f"{{{name}}}" for name in sides)
    two = f"{box} / {{d_top_mm}}"
    if column.family == "enclosure" and column.share(two) > MOST:
        return Cut(as_templates(two, box), "the depth behind the stroke is taken for the top's")
    if column.share(box) < MOST or not (order or _is_body(column)):
        return None
    return Cut(as_templates(box))


def _is_body(column: Column) -> bool:
    """Whether sides begin with the width and height of a head unit's body."""
    bodies = [re.match(r"1[78]\d(?:[.,]\d+)?\D+(?:4[5-9]|5\d|9[5-9]|1[01]\d)\b", value) for value in column.values]
    return column.family == "head_unit" and sum(map(bool, bodies)) > 0.8 * len(bodies)


def _overall_depth(column: Column, sides: Sequence[str]) -> Cut | None:
    """A loudspeaker's dimensions over all: its mounting depth is held against the depth among them."""
    box = " x ".join(f"{{{OVERALL}}}" if side == "d_mm" else "{any}" for side in sides)
    forms = (box, f"{box} ({{any}})")
    return Cut(as_templates(*forms)) if column.share(*forms) >= MOST else None


def price(column: Column) -> Cut | None:
    """``85.95 ea``: the price with how it is sold."""
    forms = ("{price} {pack_of}", "{price} / {pack_of}")
    if column.share(*forms) >= MOST:
        return Cut(as_templates(*(form for form in forms if column.share(form))))
    return Cut(as_templates("{price}", "{price} # {any}")) if column.share("{price} # {any}") else None


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
    "coils": coils,
    "bolt_circle": bolts,
    "cutout": opening,
    "flange": opening,
    "face": opening,
    "pack_of": sale,
    "depth_two": two_depths,
    "takes": drivers,
    "kind": box_kind,
}
"""Role of a column, and the recipe for it; without one, or where it does not apply, the cell fills a field whole."""
