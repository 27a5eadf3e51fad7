"""Sentences on bass: boxes, drivers, levels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.explain.said import Said
from matcher.explain.wording import amount

if TYPE_CHECKING:
    from catalog_schema.answers import Bass

LIFT = "Lift heavy boxes with two. Hold a box by load eyes, clamps or existing bolts, never by seat-belt anchors."
LEVEL = "Bass levels are at 1 m in half space in the open: what a cabin adds is real and not counted."
UNPRICED = (
    "A box made to measure stands at no price: give the shop's board_price_m2, made_box_labour_h and labour_rate."
)
MADE = "made to measure"
HELD = "a box takes bolt_on: straps or clamps are added, nothing is lost"
NO_CARGO = "the vehicle has no cargo space that may take a box"


def bass_says(bass: Bass) -> str:
    """What drivers, net and box make, in a line."""
    drivers = "one driver" if bass.drivers == 1 else f"{bass.drivers} drivers"
    box = f"{amount(bass.box_net_l, 'l')} box"
    outer = bass.outer
    if outer is not None:
        depths = f"{amount(outer.d_mm)}/{amount(outer.d_top_mm, 'mm')}"
        box += f" made {amount(outer.w_mm)} x {amount(outer.h_mm)} x {depths}"
    told = [
        f"bass: {drivers} ({bass.net}, {amount(bass.load_ohm, 'ohm')}) in a {box}",
        *([f"Qtc {amount(bass.qtc)}"] if bass.qtc is not None else []),
        f"3 dB down at {amount(bass.f3_hz, 'Hz')}",
        f"at 40 Hz {amount(bass.max_db_40hz, 'dB')} at most" + (f", by its {bass.ruled_by}" if bass.ruled_by else ""),
    ]
    return "; ".join(told)


def no_box_says(count: int) -> str:
    """Drivers that no box takes, in a sentence."""
    drivers = Said("1 driver") if count == 1 else Said("{count} drivers", count=amount(count))
    return Said("{drivers}: no box that goes in takes it, bought or made to measure", drivers=drivers)
