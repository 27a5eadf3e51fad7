"""Cable, installation parts, film, security and accessories as they are drawn."""

from __future__ import annotations

from data_demo.distributions import SEED
from data_demo.distributions_more import (
    ACCESSORY_KINDS,
    BOARD_SIZES,
    CABLE_AREAS,
    CABLE_LENGTHS_M,
    CCA_OF_COPPER,
    CCA_SHARE,
    CONTROL_SIZES,
    CUT_OUT,
    FILM_PRICE,
    FILM_VLT_PCT,
    FUSES_A,
    INSTALL_ITEMS,
    SECURITY_LAYERS,
)
from data_demo.draw import RandomStream
from data_demo.families.common import Row, common


def cable(draw: RandomStream, number: int) -> Row:
    """A piece of cable with its fuse; copper-clad aluminum carries less and costs less."""
    area, copper_a, meter = draw.pick(CABLE_AREAS)
    cca, length = draw.chance(CCA_SHARE), draw.pick(CABLE_LENGTHS_M)
    share = CCA_OF_COPPER if cca else 1
    rated_a = int(copper_a * share)
    price = f"{int(meter * length * share) + 6}.90"
    row = common(draw, "cable", number, f"{area} mm2", price=price, labor_h=1, mass_kg=round(area * length / 90, 1))
    row |= {
        "conductor": "cca" if cca else "copper",
        "area_mm2": area,
        "length_m": length,
        "rated_a": rated_a,
        "fuse_a": max((fuse for fuse in FUSES_A if fuse <= rated_a), default=FUSES_A[0]),
    }
    return row


def install(draw: RandomStream, number: int) -> Row:
    """An installation part; a longer list offers each item again and again."""
    item = INSTALL_ITEMS[(number - 1) % len(INSTALL_ITEMS)]
    size = "" if item.size is None else f" {item.size:g}"
    name = f"{item.kind.replace('_', ' ')}{size}"
    row = common(draw, "install", number, name, price=item.price, labor_h=None, mass_kg=None, pack_of=item.pack_of)
    rated = item.kind in ("fuse", "fuse_holder", "distribution")
    row |= {"kind": item.kind, "unit": item.unit, "rated_a": item.size if rated else None}
    return row | {"area_mm2": None if rated else item.size, "channels": 2 if item.kind == "signal_lead" else None}


def film(draw: RandomStream, number: int) -> Row:
    """A roll of film for one car."""
    vlt = draw.pick(FILM_VLT_PCT)
    price = draw.price(FILM_PRICE, draw.unit())
    row = common(draw, "film", number, f"film {vlt}", price=price, labor_h=draw.pick((2, 2.5, 3)), mass_kg=None)
    row["vlt_pct"] = vlt
    return row


def security(draw: RandomStream, number: int) -> Row:
    """A layer against theft."""
    name, covers, effort, battery, rest_ma, price = draw.pick(SECURITY_LAYERS)
    tag = draw.price(price, draw.unit())
    row = common(draw, "security", number, name, price=tag, labor_h=draw.half((0.5, 2)), mass_kg=None)
    row |= {
        "covers": ";".join(covers),
        "effort": effort,
        "standby_ma": draw.half(rest_ma),
        "own_battery": "yes" if battery else "no",
        "cuts_circuit": "yes" if name == CUT_OUT else "no",
    }
    return row


def accessory(draw: RandomStream, number: int) -> Row:
    """A thing that makes others work together."""
    kind, needs, gives, rest_ma, price = draw.pick(ACCESSORY_KINDS)
    tag = draw.price(price, draw.unit())
    name = kind.replace("_", " ")
    row = common(draw, "accessory", number, name, price=tag, labor_h=draw.half((0.5, 2)), mass_kg=None)
    row |= {
        "kind": kind,
        "needs": ";".join(needs) or None,
        "gives": ";".join(gives),
        "standby_ma": draw.half(rest_ma),
    }
    return row | dict(zip(("w_mm", "h_mm", "d_mm"), accessory_size(kind, number), strict=True))


def accessory_size(kind: str, number: int) -> tuple[float | None, ...]:
    """Width, height and depth of an accessory; drawn by themselves, so that they change nothing else that is drawn."""
    draw = RandomStream(SEED + number)
    if kind == "board":
        return draw.pick(BOARD_SIZES)
    return tuple(map(draw.half, CONTROL_SIZES)) if kind == "level_control" else (None, None, None)
