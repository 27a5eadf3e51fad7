"""Shared by the candidates of all slots: prices and points."""

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
"""Price, pieces per pack, hours of fitting; without a price there is no such thing."""
NO_ADAPTER: Sold = (None, None, None)
"""No adapter."""


@dataclass(frozen=True)
class SlotCandidates:
    """Relevant candidates of a slot, and the number of all."""

    candidates: Sequence[Candidate]
    tallies: dict[Any, Tally]
    """Keys: the electrical class of loudspeakers, the features of head units."""


KEPT = Tally(1, 1, 1)
"""An original that stays."""


def points_of(scoring: Scoring, step: int, cost: Cost, code: int) -> tuple[tuple[str, int], ...]:
    """Return the points that any part has at an opening, by criterion."""
    return (
        ("original_look", scoring.look(step)),
        ("price", scoring.price(cost.cents)),
        ("known", scoring.unknown(code)),
    )


def points_at(scoring: Scoring, step: Numbers, cents: Numbers, code: Numbers) -> Numbers:
    """Return the sum of `points_of` for each row."""
    looks = np.array([scoring.look(at) for at in range(len(LADDER))], np.int64)
    found: Numbers = looks[step] + scoring.price(cents) + scoring.losses[code]
    return found


def cost_of(pieces: int, part: Sold, adapter: Sold, scoring: Scoring, kit: Kit = ()) -> Cost:
    """Return the cost of whole packs of part and adapter, labor per piece, and the kit."""
    rate = scoring.settings.charged("labour_rate")
    packs, goods, work = _packs(pieces, part, rate)
    adapter_packs, adapter_goods, adapter_work = _packs(pieces, adapter, rate)
    return Cost(pieces, packs, adapter_packs, goods + adapter_goods, work + adapter_work, kit_cents(kit))


def comes_along(slot: str, opening_id: str | None, part_id: str | None, cost: Cost, scoring: Scoring) -> Candidate:
    """Return a part that accompanies an amplifier at a spot: only its price matters."""
    return Candidate(
        slot=slot,
        opening_id=opening_id,
        part_id=part_id,
        step=0 if opening_id is None else BOARD_STEP,
        cost=cost,
        points=(("price", scoring.price(cost.cents)),),
    )


WITH_HEAD = "with head unit"
"""Slot of the additions that a plan makes to a head unit."""


def with_head(
    prices: KitPrices,
    wires: Mapping[str, KitNeed],
    scoring: Scoring,
    filters: int,
    music_ma: int,
    wired: tuple[str, ...] = (),
) -> Candidate:
    """Return in-line filters of a plan, wire from an amplifier, and current of the head unit's own channels."""
    needs = [KitNeed("filter", Decimal(filters))] if filters else []
    kit = prices.kit([*needs, *(wires[name] for name in wired if name in wires)])
    one = comes_along(WITH_HEAD, None, None, replace(NO_COST, kit_cents=kit_cents(kit)), scoring)
    return replace(one, kit=kit, draw=AmplifierDraw(None, music_ma))


def _packs(pieces: int, thing: Sold, rate: Decimal) -> tuple[int, int, int]:
    """Number of packs, their price and labor in cents; zeros if there is no such thing."""
    price, pack_of, labour_h = thing
    if price is None:
        return 0, 0, 0
    packs = packs_for(pieces, pack_of or 1)
    return packs, cents(price * packs), cents((labour_h or Decimal(0)) * pieces * rate)


def microamps(standby_ma: Decimal | None) -> int:
    """Return the standby drain of a part in microamperes, 0 if unknown."""
    return int((standby_ma or Decimal(0)) * 1000)
