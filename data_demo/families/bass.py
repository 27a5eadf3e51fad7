"""Bass drivers and boxes as they are drawn."""

from __future__ import annotations

from data_demo.distributions_more import (
    BASS_QES_OVER_QTS,
    BASS_QTS,
    BASS_SIZES,
    BOARD_MM,
    BOX_D,
    BOX_H,
    BOX_PRICE,
    COILS,
    LEAST_BOX_D_TOP,
    RIM_OF_BOX_MM,
    SHALLOW_BOX_D,
    SHALLOW_BOX_SHARE,
    SLOPE,
    TUNED_HZ,
    TWO_CHAMBERS_SHARE,
    TWO_DRIVERS_SHARE,
    VENTED_BOX_SHARE,
    VENTED_POLE_SHARE,
    BassSize,
)
from data_demo.draw import RandomStream, spread
from data_demo.families.common import Row, common

SIZES = spread([(size.share, size) for size in BASS_SIZES])
WINDINGS = spread(COILS)


def subwoofer(draw: RandomStream, number: int) -> Row:
    """A bass driver: a size, a grade, and what goes with both."""
    size, grade = draw.pick(SIZES), draw.unit()
    row = common(
        draw,
        "subwoofer",
        number,
        f"bass {size.size_in}",
        price=draw.price(size.price, grade),
        labor_h=draw.pick((0.5, 0.75)),
        mass_kg=draw.half((2, 9)),
    )
    cutout = draw.half(size.cutout)
    row |= {
        "size_in": size.size_in,
        "cutout_mm": cutout,
        "depth_mm": draw.half(size.depth),
        "outer_mm": cutout + draw.half(size.rim),
        "displaces_l": draw.half(size.displaces_l),
    }
    row.update(motor(draw, size, grade))
    return row


def motor(draw: RandomStream, size: BassSize, grade: float) -> Row:
    """Its coils, its rating and its small-signal figures."""
    coils, ohm = draw.pick(WINDINGS)
    qts = draw.half(BASS_QTS) / 20
    return {
        "coils": coils,
        "coil_ohm": ohm,
        "rms_w": draw.graded(size.rms_w, grade),
        "fs_hz": draw.half(size.fs_hz),
        "qts": round(qts, 3),
        "qes": round(qts * draw.pick(BASS_QES_OVER_QTS), 3),
        "vas_l": draw.half(size.vas_l),
        "sd_cm2": draw.whole(size.sd_cm2),
        "xmax_mm": draw.graded_half(size.xmax, grade),
        "vented_pole": "yes" if draw.chance(VENTED_POLE_SHARE) else "no",
    }


def enclosure(draw: RandomStream, number: int) -> Row:
    """A box: for how many drivers of which size, and as wide as its volume asks."""
    size, two = draw.pick(SIZES), draw.chance(TWO_DRIVERS_SHARE)
    drivers = 2 if two else 1
    vented = draw.chance(VENTED_BOX_SHARE)
    net_l = draw.half(size.box_l) * drivers * (1.5 if vented else 1)
    row = common(
        draw,
        "enclosure",
        number,
        f"box {drivers}x{size.size_in}",
        price=draw.price(BOX_PRICE, net_l / 150),
        labor_h=draw.pick((0.5, 1)),
        mass_kg=round(4 + net_l / 5, 1),
    )
    row |= {
        "drivers": drivers,
        "driver_size_in": size.size_in,
        "cutout_mm": size.cutout[1] + 1,
        "driver_depth_mm": None,
        "net_l": net_l,
        "chambers": 2 if two and draw.chance(TWO_CHAMBERS_SHARE) else 1,
        "kind": "vented" if vented else "sealed",
        "tuned_hz": draw.whole(TUNED_HZ) if vented else None,
    }
    row.update(walls(draw, net_l, size.cutout[1] + RIM_OF_BOX_MM, drivers))
    return row


def walls(draw: RandomStream, net_l: float, front: float, drivers: int) -> Row:
    """Outer measures that hold the volume behind a front of so many squares, sloped at the back."""
    h_mm = max(draw.half(BOX_H), front)
    d_mm = draw.half(SHALLOW_BOX_D if draw.chance(SHALLOW_BOX_SHARE) else BOX_D)
    slope = min(draw.half(SLOPE), d_mm - LEAST_BOX_D_TOP)
    area = net_l * 1e6 / (h_mm - 2 * BOARD_MM)
    inside_w = max(area / (d_mm - slope / 2 - 2 * BOARD_MM), front * drivers)
    inside_d = area / inside_w  # a small box is as wide as its drivers ask, and shallower
    return {
        "w_mm": int(inside_w + 2 * BOARD_MM),
        "h_mm": h_mm,
        "d_mm": int(inside_d + slope / 2 + 2 * BOARD_MM),
        "d_top_mm": int(inside_d - slope / 2 + 2 * BOARD_MM),
        "driver_depth_mm": int(inside_d + BOARD_MM),
    }
