"""Sentences about bass: boxes, drivers, levels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.answers.messages import amount
from matcher.answers.sentences import Sentence
from matcher.lengths import length_text

if TYPE_CHECKING:
    from catalog_schema.answers import Bass
    from matcher.settings import Settings

LIFT = "Lift heavy boxes with two. Hold a box by load eyes, clamps or existing bolts, never by seat-belt anchors."
LEVEL = "Bass levels are at 1 m in half space in the open: what a cabin adds is real and not counted."
UNPRICED = (
    "What a box made to measure costs is not known: give the shop's board_price_m2, made_box_extras_price, "
    "made_box_labour_h and labour_rate, if need be as 0."
)
FIGURES = {
    "fs_hz": "resonance",
    "qts": "Qts",
    "qes": "Qes",
    "vas_l": "Vas",
    "sd_cm2": "cone area",
    "xmax_mm": "peak travel",
}
"""Names of the driver's figures that its level depends on."""
MADE = "made to measure"
HELD = "a box takes bolt_on: straps or clamps are added, nothing is lost"
NO_CARGO = "the vehicle has no cargo space that may take a box"


def bass_says(bass: Bass) -> str:
    """Describe drivers, coil wiring and box in one line."""
    drivers = "one driver" if bass.drivers == 1 else f"{bass.drivers} drivers"
    coils = "" if bass.net == "1" else f"coils {bass.net}, "  # a single coil can be wired only one way
    box = f"{amount(bass.box_net_l, 'l')} box"
    outer = bass.outer
    if outer is not None:
        w, h, d = map(length_text, (outer.w_mm, outer.h_mm, outer.d_mm))
        box += f" made {w} x {h} x {d}/{amount(outer.d_top_mm, 'mm')}"
    parts = [
        f"bass: {drivers} ({coils}{amount(bass.load_ohm, 'ohm')}) in a {box}",
        *([f"Qtc {amount(bass.qtc)}"] if bass.qtc is not None else []),
        *([f"tuned to {amount(bass.tuned_hz, 'Hz')}"] if bass.tuned_hz is not None else []),
        f"3 dB down at {amount(bass.f3_hz, 'Hz')}",
        _levels_say(bass),
        *([f"needs a high-pass at {amount(bass.high_pass_hz, 'Hz')}"] if bass.high_pass_hz is not None else []),
    ]
    return "; ".join(parts)


def _levels_say(bass: Bass) -> str:
    """Describe the maximum levels, and the frequencies at which excursion or the port limits them."""
    if not bass.levels:
        return "level not known"
    first, last = bass.levels[0], bass.levels[-1]
    limited = [
        f"{limit} limits it at {', '.join(amount(each.hz) for each in some)} Hz"
        for limit in ("travel", "port")
        if (some := [each for each in bass.levels if each.ruled_by == limit])
    ]
    mean = f"{amount(bass.mean_db, 'dB')} on average from {amount(first.hz)} to {amount(last.hz, 'Hz')}"
    return ", ".join([f"{mean} ({amount(first.level_db)} to {amount(last.level_db, 'dB')})", *limited])


def bass_notes(bass: Bass, settings: Settings) -> list[str]:
    """Return notes on a bass system before it is built: estimates, its peak, its port."""
    peak_db, most_db = settings["vented_peak_db"], bass.peak_most_db
    notes = []
    figures = ", ".join(FIGURES[name] for name in bass.estimated if name in FIGURES)
    if figures:
        notes.append(f"The bass level is an estimate: the driver's list does not state its {figures}.")
    if most_db is not None and most_db > peak_db:
        notes.append(
            f"The bass box may boom: its peak is {amount(bass.peak_db, 'dB')} with usual losses, up to "
            f"{amount(most_db, 'dB')} if it is built very tight."
        )
    if "port_mm" in bass.estimated:
        notes.append("The size of the bass box's port is not known, and taken as usual for its volume: measure it.")
    return notes


def no_box_says(count: int) -> str:
    """Describe the drivers that fit no box."""
    drivers = Sentence("{count} driver", "{count} drivers", count=amount(count))
    return Sentence("{drivers}: no box that goes in takes it, bought or made to measure", drivers=drivers)
