"""Loudspeakers as they are drawn."""

from __future__ import annotations

from data_demo.distributions import (
    BOLT_SCATTER,
    COMPONENT_PIECES,
    DIAMETER_ONCE_SHARE,
    HIGH_HZ,
    IMPEDANCE_OHM,
    MORE_PATTERNS,
    PACK_OF_TWO_SHARE,
    SENS_BASIS,
    SPEAKER_KINDS,
    SPEAKER_MASS_KG,
    SPEAKER_QTS,
    SPEAKER_SIZES,
    TWO_COILS_SHARE,
    UNIVERSAL_EVERY,
    SpeakerSize,
)
from data_demo.draw import RandomStream, spread
from data_demo.families.common import Row, bolt_columns, common

SIZES = spread([(size.share, size) for size in SPEAKER_SIZES])
OHMS = spread(IMPEDANCE_OHM)
KINDS = spread(SPEAKER_KINDS)
BASES = spread(SENS_BASIS)


def speaker(draw: RandomStream, number: int) -> Row:
    """A loudspeaker: a size, a grade, and figures that go with both."""
    size, grade = draw.pick(SIZES), draw.unit()
    pair = draw.chance(PACK_OF_TWO_SHARE)
    low, high = size.price
    row = common(
        draw,
        "speaker",
        number,
        size.size,
        price=draw.price(size.price if pair else (low / 2, high / 2), grade),
        labor_h=draw.pick((0.5, 0.5, 0.75, 1)),
        mass_kg=draw.whole(SPEAKER_MASS_KG) / 10,
        pack_of=2 if pair else 1,
    )
    row.update(measures(draw, size))
    row.update(sound(draw, size, grade))
    row.update(pieces(RandomStream.aside(number), row["kind"]))
    row["bolt_patterns"] = None if number % UNIVERSAL_EVERY else "; ".join(MORE_PATTERNS.get(size.size, ())) or None
    return row


def measures(draw: RandomStream, size: SpeakerSize) -> Row:
    """Figures that have to agree with an opening."""
    cutout_w, rim = draw.half(size.cutout_w), draw.half(size.rim)
    cutout_h = cutout_w if size.cutout_h is None else draw.half(size.cutout_h)
    row: Row = {
        "shape": size.shape,
        "size": size.size,
        "cutout_w_mm": cutout_w,
        "cutout_h_mm": cutout_h,
        "depth_mm": draw.half(size.depth),
        "flange_w_mm": cutout_w + rim,
        "flange_h_mm": cutout_h + rim,
    }
    scatter = (draw.half(BOLT_SCATTER), draw.half(BOLT_SCATTER))
    row.update(bolt_columns(draw.pick(size.bolts), scatter=scatter))
    if size.shape == "round" and draw.chance(DIAMETER_ONCE_SHARE):
        row["cutout_h_mm"] = row["flange_h_mm"] = None
    row["magnet_mm"] = draw.half(size.magnet)
    row["front_mm"] = draw.half(size.front)
    return row


def sound(draw: RandomStream, size: SpeakerSize, grade: float) -> Row:
    """Response to the power it gets."""
    low_hz = int(draw.graded_half(size.low_hz, 1 - grade))
    return {
        "kind": draw.pick(KINDS),
        "coils": 2 if draw.chance(TWO_COILS_SHARE) else 1,
        "impedance_ohm": draw.pick(OHMS),
        "rms_w": draw.graded(size.rms_w, grade),
        "sens_db": draw.graded_half(size.sens_db, grade),
        "sens_basis": draw.pick(BASES),
        "low_hz": low_hz,
        "high_hz": draw.pick(HIGH_HZ),
        "fs_hz": low_hz + draw.whole((2, 14)),
        "qts": draw.whole(SPEAKER_QTS) / 10,
        "vas_l": draw.half(size.vas_l),
        "sd_cm2": draw.whole(size.sd_cm2),
        "xmax_mm": draw.graded_half(size.xmax, grade),
    }


def pieces(draw: RandomStream, kind: object) -> Row:
    """The separate tweeter and the filter of a component set."""
    return {name: draw.half(span) if kind == "component" else None for name, span in COMPONENT_PIECES.items()}
