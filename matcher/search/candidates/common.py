"""Shared by the candidates of every slot: their price, and the original that stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np

from catalog_schema.ladder import LADDER
from matcher.kernel.distinct import Numbers
from matcher.search.catalog.kit import Kit, KitNeed, KitPrices, kit_cents
from matcher.search.feeds.parts import NO_COST, AmplifierDraw, Candidate, Cost, cents, packs_for
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import BOARD_STEP
from matcher.search.scoring import Scoring

Sold = tuple[Any, Any, Any]
"""Price, pieces in a pack, hours of fitting; no price: there is no such thing."""
NO_ADAPTER: Sold = (None, None, None)
"""Nothing is between part and opening."""


@dataclass(frozen=True)
class SlotCandidates:
    """Candidates of a slot: those that matter, and the number of all."""

    candidates: Sequence[Candidate]
    tallies: dict[Any, Tally]
    """By what they are counted by: the signature of a loudspeaker, the features of a head unit."""


KEPT = Tally(1, 1, 1)
"""An original that stays."""


def points_of(scoring: Scoring, step: int, cost: Cost, code: int) -> tuple[tuple[str, int], ...]:
    """The points that any part has at an opening, by criterion."""
    return (
        ("original_look", scoring.look(step)),
        ("price", scoring.price(cost.cents)),
        ("known", scoring.unknown(code)),
    )


def points_at(scoring: Scoring, step: Numbers, cents: Numbers, code: Numbers) -> Numbers:
    """The sum of `points_of`, by row."""
    looks = np.array([scoring.look(at) for at in range(len(LADDER))], np.int64)
    found: Numbers = looks[step] + scoring.price(cents) + scoring.losses[code]
    return found


def cost_of(pieces: int, part: Sold, adapter: Sold, scoring: Scoring, kit: Kit = ()) -> Cost:
    """Whole packs of the part and its adapter, the labor of fitting each piece, and what else it takes."""
    rate = scoring.settings.charged("labour_rate")
    packs, goods, work = _packs(pieces, part, rate)
    adapter_packs, adapter_goods, adapter_work = _packs(pieces, adapter, rate)
    return Cost(pieces, packs, adapter_packs, goods + adapter_goods, work + adapter_work, kit_cents(kit))


def comes_along(slot: str, opening_id: str | None, part_id: str | None, cost: Cost, scoring: Scoring) -> Candidate:
    """Part that accompanies an amplifier at a spot: it costs money alone."""
    return Candidate(
        slot=slot,
        opening_id=opening_id,
        part_id=part_id,
        step=0 if opening_id is None else BOARD_STEP,
        cost=cost,
        points=(("price", scoring.price(cost.cents)),),
    )


WITH_HEAD = "with head unit"
"""The slot of what a plan adds to a head unit."""


def with_head(
    prices: KitPrices,
    wires: Mapping[str, KitNeed],
    scoring: Scoring,
    filters: int,
    music_ma: int,
    wired: tuple[str, ...] = (),
) -> Candidate:
    """In-line filters of a plan, wire from an amplifier to places, and the current of the head unit's own channels."""
    needs = [KitNeed("filter", Decimal(filters))] if filters else []
    kit = prices.kit([*needs, *(wires[name] for name in wired if name in wires)])
    one = comes_along(WITH_HEAD, None, None, replace(NO_COST, kit_cents=kit_cents(kit)), scoring)
    return replace(one, kit=kit, draw=AmplifierDraw(None, music_ma))


def _packs(pieces: int, thing: Sold, rate: Decimal) -> tuple[int, int, int]:
    """Packs, their price and the labor, in cents; nothing if there is no such thing."""
    price, pack_of, labour_h = thing
    if price is None:
        return 0, 0, 0
    packs = packs_for(pieces, pack_of or 1)
    return packs, cents(price * packs), cents((labour_h or Decimal(0)) * pieces * rate)


def microamps(standby_ma: Decimal | None) -> int:
    """Standby drain of a part, in microamperes; None if not known."""
    return int((standby_ma or Decimal(0)) * 1000)
