"""Stock adapters as they are drawn; the ones made to fit the demo's cars are in ``made_to_fit.json``."""

from __future__ import annotations

from data_demo.distributions import Bolts
from data_demo.distributions_more import ADAPTER_KINDS, ADAPTER_PRICE, ADAPTER_SCATTER
from data_demo.draw import RandomStream, spread
from data_demo.families.common import Row, bolt_columns, common

KINDS = spread([(kind.share, kind) for kind in ADAPTER_KINDS])


def adapter(draw: RandomStream, number: int) -> Row:
    """An adapter of one of the stock kinds, a little off its nominal size."""
    kind = draw.pick(KINDS)
    forward = draw.half(kind.forward)
    row = common(
        draw,
        "adapter",
        number,
        kind.name,
        price=draw.price(ADAPTER_PRICE, draw.unit()),
        labor_h=draw.pick((0.25, 0.5)),
        mass_kg=0.2,
        pack_of=2 if kind.made_for == "speaker" else 1,
    )
    row["for"] = kind.made_for
    row.update(side(draw, "fits_", kind.fits, kind.fits_bolts))
    row.update(side(draw, "gives_", kind.gives, kind.gives_bolts))
    row |= {"forward_mm": forward, "thick_mm": max(forward, 2.0)}
    return row


def side(draw: RandomStream, prefix: str, hole: tuple[str, float, float | None], bolts: Bolts | None) -> Row:
    """One side of it: the hole and its bolts."""
    shape, w_mm, h_mm = hole
    off = draw.half(ADAPTER_SCATTER)
    row: Row = {
        f"{prefix}shape": shape,
        f"{prefix}w_mm": w_mm + off,
        f"{prefix}h_mm": (w_mm if h_mm is None else h_mm) + off,
    }
    row.update(bolt_columns(bolts, prefix))
    return row
