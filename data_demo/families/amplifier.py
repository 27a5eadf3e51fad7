"""Amplifiers as they are drawn."""

from __future__ import annotations

from data_demo.distributions import FILTERS
from data_demo.distributions_more import (
    AMPLIFIER_KINDS,
    AMPLIFIER_REST_MA,
    CASES,
    CLASSES,
    FUSES_A,
    INPUT_MAX_V,
    INPUT_MIN_V,
    PEAK_OVER_RMS,
    POWER_BASIS,
    WATTS_PER_AMP,
    AmplifierKind,
)
from data_demo.draw import RandomStream, spread
from data_demo.families.common import Row, common, filter_columns

KINDS = spread([(kind.share, kind) for kind in AMPLIFIER_KINDS])
BASES = spread(POWER_BASIS)
WORKING = spread(CLASSES)


FILTER_CHOICES = spread(FILTERS)


def amplifier(draw: RandomStream, number: int) -> Row:
    """An amplifier: a layout of channels, a grade, and what goes with both."""
    kind, grade = draw.pick(KINDS), draw.unit()
    name = f"{kind.full}.{kind.bass}" if kind.full else "mono"
    row = common(
        draw,
        "amplifier",
        number,
        name,
        price=draw.price(kind.price, grade),
        labor_h=draw.pick((1.5, 2, 2, 2.5)),
        mass_kg=draw.half((1, 4)),
    )
    full_w = draw.graded(kind.full_w, grade) if kind.full_w else None
    bass_w = draw.graded(kind.bass_w, grade) if kind.bass_w else None
    basis = draw.pick(BASES)
    row.update(powers(draw, kind, full_w, bass_w, draw.pick(PEAK_OVER_RMS) if basis == "peak" else 1))
    row["power_basis"] = basis
    row.update(inputs(draw))
    row.update(case(draw, kind.full * (full_w or 0) + 2 * (bass_w or 0)))
    row.update(filter_columns(RandomStream.aside(number), FILTER_CHOICES))
    return row


def powers(draw: RandomStream, kind: AmplifierKind, full_w: int | None, bass_w: int | None, times: int) -> Row:
    """Power of each channel into each load; half as much again into half the load."""
    half_w = full_w * 3 // 2 if full_w else None
    to_one_ohm = draw.chance(0.6)

    def stated(watts: int | None) -> int | None:
        return None if watts is None else watts * times

    return {
        "full_channels": kind.full,
        "full_w_4ohm": stated(full_w),
        "full_w_2ohm": stated(half_w),
        "full_min_ohm": 2 if full_w else None,
        "full_bridged_w_4ohm": stated(2 * half_w if half_w else None),
        "full_bridged_min_ohm": 4 if full_w else None,
        "bass_channels": kind.bass,
        "bass_w_4ohm": stated(bass_w),
        "bass_w_2ohm": stated(bass_w * 8 // 5 if bass_w else None),
        "bass_w_1ohm": stated(bass_w * 9 // 4 if bass_w and to_one_ohm else None),
        "bass_min_ohm": (1 if to_one_ohm else 2) if bass_w else None,
    }


def inputs(draw: RandomStream) -> Row:
    """Input that it takes from the head unit."""
    return {
        "input_min_v": draw.pick(INPUT_MIN_V),
        "input_max_v": draw.pick(INPUT_MAX_V),
        "high_level_in": "yes" if draw.chance(0.65) else "no",
    }


def case(draw: RandomStream, total_w: float) -> Row:
    """Its working class, its fuse, its case, what it draws at rest."""
    working = draw.pick(WORKING)
    amperes = total_w / WATTS_PER_AMP[working]
    w_mm, h_mm, d_mm = CASES[working]
    return {
        "class": working,
        "fuse_a": next((fuse for fuse in FUSES_A if fuse >= amperes), FUSES_A[-1]),
        "current_a": round(amperes, 1),
        "w_mm": draw.half(w_mm),
        "h_mm": draw.half(h_mm),
        "d_mm": draw.half(d_mm),
        "level_control": "yes" if draw.chance(0.5) else "no",
        "standby_ma": draw.pick(AMPLIFIER_REST_MA),
    }
