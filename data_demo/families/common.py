"""Fields that every family's row begins with."""

from __future__ import annotations

from collections.abc import Sequence

from data_demo.distributions import FILTER_COLUMNS, LEAD_DAYS, SERIES, STOCK, Bolts
from data_demo.draw import RandomStream
from data_demo.makers import MAKERS

Row = dict[str, object]
"""Column to cell; every row of a family has the same columns in the same order, None if unknown."""

PREFIXES = {
    "head_unit": "HU",
    "speaker": "SP",
    "amplifier": "AM",
    "subwoofer": "SB",
    "enclosure": "BX",
    "adapter": "AD",
    "cable": "CB",
    "film": "FM",
    "security": "SC",
    "accessory": "AC",
    "install": "IN",
}


def common(
    draw: RandomStream,
    family: str,
    number: int,
    name: str,
    *,
    price: str,
    labor_h: float | None,
    mass_kg: float | None,
    pack_of: int = 1,
) -> Row:
    """The columns that all families share; ``number`` makes the part's number."""
    return {
        "part_id": f"{PREFIXES[family]}{number:07d}",
        "maker": draw.pick(MAKERS).name,
        "model": f"{draw.pick(SERIES)} {draw.whole((10, 99))} {name}",
        "price": price,
        "pack_of": pack_of,
        "labour_h": labor_h,
        "mass_kg": mass_kg,
        "stock": draw.whole(STOCK),
        "lead_days": draw.pick(LEAD_DAYS),
    }


def bolt_columns(bolts: Bolts | None, prefix: str = "", scatter: tuple[float, float] = (0, 0)) -> Row:
    """A bolt pattern as its four columns; ``scatter`` moves it across and down."""
    row: Row = dict.fromkeys(
        (f"{prefix}bolt_w_mm", f"{prefix}bolt_h_mm", f"{prefix}bolt_circle_mm", f"{prefix}bolt_count")
    )
    if bolts is not None:
        shape, first, second = bolts
        if shape == "circle":
            row[f"{prefix}bolt_circle_mm"], row[f"{prefix}bolt_count"] = first + scatter[0], int(second)
        else:
            row[f"{prefix}bolt_w_mm"], row[f"{prefix}bolt_h_mm"] = first + scatter[0], second + scatter[1]
    return row


def filter_columns(draw: RandomStream, choices: Sequence[tuple[float | None, ...]]) -> Row:
    """The filters that a sheet states."""
    return dict(zip(FILTER_COLUMNS, draw.pick(choices), strict=True))
