"""Recipes: templates to cut a column of some role, chosen by its cells."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from catalog_schema.agreements import OVERALL
from matcher.store.lists.list_words import VALUE_WORDS, without_accents
from matcher.store.mapping.cell_maps import mapped_columns
from matcher.store.mapping.column_roles import sides_named
from matcher.store.mapping.described import model, parameters
from matcher.store.mapping.recipe_columns import (
    MOST,
    ListColumn,
    RecipeResult,
    Written,
    as_templates,
    choice_words,
    each_template,
)


def impedance(column: ListColumn) -> RecipeResult | None:
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
    return RecipeResult(as_templates(*used, (f"{{{field}}}", {"coils": "1"})))


def rms(column: ListColumn) -> RecipeResult | None:
    """Continuous power with a maximum: the two are compared, and never confused."""
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
        return RecipeResult(as_templates(*used)) if used and column.share(*used) > MOST else None
    alone = (
        f"{{{field}}} rms",
        f"rms {{{field}}}",
        f"{{{field}}} rms ({{peak_w}} max)",
        f"{{{field}}} rms / {{peak_w}} max",
    )
    if column.share(*alone) > MOST:
        return RecipeResult(as_templates(*(one for one in alone if column.share(one))))
    both = (f"{{{field}}} / {{peak_w}}", f"{{{field}}} rms")
    if column.share(*both) <= MOST:
        return None
    header = without_accents(column.header)
    sure = re.search(r"(rms|nenn|sinus|dauer|cont|nom).*(max|musik|peak|maks|crete)", header)
    bare = (f"{{{field}}}",) if sure and not column.share("{any} max", "max {any}") else ()
    return RecipeResult(as_templates(*both, *bare), "" if sure else "the first power is taken for the continuous one")


def power(column: ListColumn) -> RecipeResult | None:
    """A power is continuous if the cells say so, or name a load; else it is unknown."""
    if column.family == "amplifier":
        return counted_powers(column)
    says_rms = sum("rms" in value.casefold() for value in column.values)
    return rms(column) if says_rms > MOST * len(column.values) else None


def powers(prefix: str, loads: Sequence[int]) -> Callable[[ListColumn], RecipeResult | None]:
    """``75W @ 4ohm, 112W @ 2ohm``: a power for each load."""

    def recipe(column: ListColumn) -> RecipeResult | None:
        forms = [f"{{{prefix}_w_{load}ohm}} {form}" for load in loads for form in (f"@ {load} ohm", f"({load} ohm)")]
        if column.family != "amplifier" or not any(column.finds(form) for form in forms):
            return None
        return RecipeResult({"find": each_template(forms)})

    return recipe


def counted_powers(column: ListColumn) -> RecipeResult | None:
    """``4 x 75 W RMS @ 4 ohm, 4 x 110 W RMS @ 2 ohm``: channels and their power; one channel alone is for bass."""
    forms: list[Written] = []
    for load in (4, 2, 1):
        into = (f"w rms @ {load} ohm", f"w rms an {load} ohm", f"rms @ {load} ohm", f"w rms ({load} ohm)")
        alone = {"full_channels": "0", "bass_channels": "1"}
        forms += [(f"1 x {{bass_w_{load}ohm}} {end}", alone) for end in into]
        forms += [f"{{full_channels}} x {{full_w_{load}ohm}} {end}" for end in into if load > 1]
    used = [one for one in forms if column.finds(one)]
    return RecipeResult({"find": each_template(used), "rest": "notes"}) if used else None


def load_power(column: ListColumn) -> RecipeResult | None:
    """``4 x 75 W``: an amplifier's power into the load in the header, per channel."""
    power = f"{{{column.role}}}"
    forms: list[str] = [f"{count} x {power}" for count in range(1, 9)] + [
        f"{power} w x {count}" for count in range(1, 9)
    ]
    used = [one for one in forms if column.share(one)]
    return RecipeResult(as_templates(power, *used)) if used else None


def channels(column: ListColumn) -> RecipeResult | None:
    """``4+1`` is four channels and one for bass, ``mono`` and ``1`` one for bass."""
    both = "{full_channels} + {bass_channels}"
    mono = tuple(
        (word, {"full_channels": "0", "bass_channels": "1"})
        for word in ("1", "mono", "monoblock", "1 mono", "1 (mono)")
    )
    if column.family != "amplifier" or not column.share(*mono, both):
        return None
    used = [one for one in mono if column.share(one)]
    words: tuple[Written, ...] = tuple(
        (word, {"full_channels": count, "bass_channels": "0"}) for word, count in (("stereo", "2"), ("quad", "4"))
    )
    return RecipeResult(as_templates(*used, both, *words, ("{full_channels}", {"bass_channels": "0"})))


def min_loads(column: ListColumn) -> RecipeResult | None:
    """``2 / 1``: the minimum load of a full channel, then of a bass channel."""
    both = "{full_min_ohm} / {bass_min_ohm}"
    if column.family != "amplifier" or not column.share(both):
        return None
    return RecipeResult(as_templates(both), "the first load is taken for full channels, the second for bass")


def coils(column: ListColumn) -> RecipeResult | None:
    """A column of coils may have their impedance, too: ``2 x 4``."""
    return impedance(column) if column.share("{coils} x {any}", "{any} + {any}") > MOST else None


def bolts(column: ListColumn) -> RecipeResult | None:
    """``4 x Ø 112`` is a circle of four holes, ``4 x 106 x 176`` a rectangle of four holes."""
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
    return RecipeResult(as_templates(*used, *(one for one in (f"Ø {circle}", circle) if column.share(one))))


def opening(column: ListColumn) -> RecipeResult | None:
    """``152 x 221 mm``: width and height; a round one has one dimension."""
    stem = {
        "cutout": {"speaker": "cutout", "head_unit": "body", "adapter": "fits"},
        "flange": {"speaker": "flange", "head_unit": "face"},
        "face": {"head_unit": "face"},
    }[column.role].get(column.family)
    if stem is None:
        return None
    across = f"{{{stem}_w_mm}}"
    forms = [f"{across} x {{{stem}_h_mm}}"]
    if column.role == "cutout" and "depth_mm" in mapped_columns(column.family):
        forms += [f"{hole} x {word} {{depth_mm}}" for hole in (across, forms[0]) for word in DEPTH_WORDS]
    used = [form for form in forms if column.share(form)]
    alone = [form for form in (f"Ø {across}", across) if column.share(form)]
    return RecipeResult(as_templates(*used, *alone)) if used else None


def lead_days(column: ListColumn) -> RecipeResult | None:
    """``3-5 days`` is the longer time, ``48 h`` two days."""
    spans = [f"{{any}} {mark} {{lead_days}}" for mark in ("-", "to", "bis", "à")]
    spans += [f"{span} days" for span in spans]
    fixed: list[Written] = [(f"{count * 24} h", {"lead_days": str(count)}) for count in (1, 2, 3)]
    fixed += [(f"{count} weeks", {"lead_days": str(count * 7)}) for count in range(1, 9)]
    used = [one for one in (*spans, *fixed) if column.share(one)]
    return RecipeResult(as_templates(*used, "{lead_days} days", "{lead_days}")) if used else None


def sensitivity(column: ListColumn) -> RecipeResult | None:
    """``90 dB/W/m``: the level, with the power it refers to."""
    ends = {"1w": ("/ w / m", "@ 1w / 1m", "(1w / 1m)", "1w / 1m"), "2v83": ("@ 2.83v / 1m", "(2.83v / 1m)")}
    forms: list[Written] = [(f"{{sens_db}} {end}", {"sens_basis": basis}) for basis in ends for end in ends[basis]]
    used = [one for one in forms if column.family == "speaker" and column.share(one)]
    return RecipeResult(as_templates(*used, "{sens_db}")) if used else None


def at_most(field: str) -> Callable[[ListColumn], RecipeResult | None]:
    """``max. 150 A``, ``bis 50 mm²``: the maximum is the part's size; ``2 x 2,5 mm²`` has two wires of it."""

    def recipe(column: ListColumn) -> RecipeResult | None:
        forms = [f"{word} {{{field}}}" for word in ("max", "max.", "up to", "bis", "do", "jusqu'à", "2 x")]
        used = [one for one in forms if column.family == "install" and column.share(one)]
        return RecipeResult(as_templates(*used, f"{{{field}}}")) if used else None

    return recipe


def sale(column: ListColumn) -> RecipeResult | None:
    """``box of 2``, ``2 pcs``: the pieces in a pack; cable and installation parts may be sold by the meter."""
    forms: list[Written] = [f"{word} of {{pack_of}}" for word in ("box", "pack", "set", "carton", "bag", "card")]
    forms += [f"{word} {{pack_of}}" for word in PACKS]
    forms += [f"{{pack_of}} {word}" for word in ("pcs", "pc", "szt", "ks", "er pack", "stk", "- pack")]
    forms += [f"{word} {{pack_of}} {piece}" for word in PACKS for piece in ("ks", "stk", "pcs", "szt")]
    if column.family == "install":
        forms = [("{unit}", {"pack_of": "1"}), "{pack_of} {unit}", *forms]
    elif column.family == "cable":
        forms = [*((word, {"length_m": "1"}) for word, unit in VALUE_WORDS["unit"].items() if unit == "m"), *forms]
    used = [one for one in forms if column.share(one)]
    words = {"unit": VALUE_WORDS["unit"]} if column.family == "install" else {}
    return RecipeResult(as_templates(*used, "{pack_of}"), words=words) if used else None


def two_depths(column: ListColumn) -> RecipeResult | None:
    """``24/20 cm``: an enclosure's depth at the floor, then at the top."""
    both = "{d_mm} / {d_top_mm}"
    if column.family != "enclosure" or not column.share(both):
        return None
    return RecipeResult(as_templates(both, "{d_mm}"))


def drivers(column: ListColumn) -> RecipeResult | None:
    """``1 x 8"``: an enclosure's number of drivers, and their size."""
    forms = ("{drivers} x {driver_size_in}", ("{driver_size_in}", {"drivers": "1"}))
    used = [one for one in forms if column.share(one)]
    return RecipeResult(as_templates(*used)) if column.family == "enclosure" and used else None


def box_kind(column: ListColumn) -> RecipeResult | None:
    """``ported 35 Hz``: an enclosure's kind, and its port's tuning."""
    tuned = "{kind} {tuned_hz}"
    if column.family != "enclosure" or not column.share(tuned):
        return None
    return RecipeResult(as_templates(tuned, "{kind}"), words=choice_words(column.family, "kind"))


def input_range(column: ListColumn) -> RecipeResult | None:
    """``200mV - 6V``: minimum and maximum input."""
    forms = [f"{{input_min_v}} {mark} {{input_max_v}}" for mark in ("-", "to", "bis")]
    if column.family != "amplifier" or not column.share(*forms):
        return None
    return RecipeResult(as_templates(*(form for form in forms if column.share(form))))


def fuse(column: ListColumn) -> RecipeResult | None:
    """``2 x 40`` is two fuses in parallel: 80 A in total, with a note."""
    several = "{times} x {fuse_a}"
    return (
        RecipeResult(as_templates(several, "{fuse_a}"), "several fuses are added up") if column.share(several) else None
    )


def frequencies(column: ListColumn) -> RecipeResult | None:
    """``60-20k Hz``: the lower and the upper end."""
    both = "{low_hz} - {high_hz}"
    return RecipeResult(as_templates(both)) if column.family == "speaker" and column.share(both) > MOST else None


def dims(column: ListColumn) -> RecipeResult | None:
    """Three sides in one cell, in the header's order; an enclosure may have two depths.

    Without an order, they are read if two depths, or a body of usual width and height, show it.
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
        return RecipeResult(as_templates(two, box), "the depth behind the stroke is taken for the top's")
    if column.share(box) < MOST or not (order or _is_body(column)):
        return None
    return RecipeResult(as_templates(box))


def _is_body(column: ListColumn) -> bool:
    """Whether sides begin with the width and height of a head unit's body."""
    bodies = [re.match(r"1[78]\d(?:[.,]\d+)?\D+(?:4[5-9]|5\d|9[5-9]|1[01]\d)\b", value) for value in column.values]
    return column.family == "head_unit" and sum(map(bool, bodies)) > 0.8 * len(bodies)


def _overall_depth(column: ListColumn, sides: Sequence[str]) -> RecipeResult | None:
    """A loudspeaker's overall dimensions: their depth is compared with the mounting depth."""
    box = " x ".join(f"{{{OVERALL}}}" if side == "d_mm" else "{any}" for side in sides)
    forms = (box, f"{box} ({{any}})")
    return RecipeResult(as_templates(*forms)) if column.share(*forms) >= MOST else None


def price(column: ListColumn) -> RecipeResult | None:
    """``85.95 ea``: the price with its unit of sale."""
    forms = ("{price} {pack_of}", "{price} / {pack_of}")
    if column.share(*forms) >= MOST:
        return RecipeResult(as_templates(*(form for form in forms if column.share(form))))
    return RecipeResult(as_templates("{price}", "{price} # {any}")) if column.share("{price} # {any}") else None


PACKS = ("lot de", "boite de", "karton", "conf", "conf.", "pack", "box", "ve", "balení", "bal.")
DEPTH_WORDS = ("p", "t", "d", "prof", "prof.", "depth", "tiefe")
RECIPES: dict[str, Callable[[ListColumn], RecipeResult | None]] = {
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
    "lead_days": lead_days,
    "sens": sensitivity,
    "rated": at_most("rated_a"),
    "area": at_most("area_mm2"),
    "depth_two": two_depths,
    "takes": drivers,
    "kind": box_kind,
}
"""Recipe by role of a column; without one, or if it does not apply, the cell fills a whole field."""
