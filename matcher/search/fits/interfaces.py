"""Interfaces of an opening: what a part meets there, the bare hole or an adapter in it, as found and as cut.

Adapters that give the same in every hole are alike: a class of them is one bit of a string, the cheapest first, so
that the lowest bit that is set is the cheapest way to mount a part.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Column, Columns
from matcher.kernel.distinct import Numbers, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO, from_micro
from matcher.kernel.verdicts import worst
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import DASH
from matcher.rules.rule import FITS, NO, Rule, figures_of, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.search.catalog.parts import Parts
from matcher.search.fits.holes import Holes, adapter_interfaces, bare_interfaces, holes_of, joined
from matcher.search.fits.mates import Mates, Mouth
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place, is_allowed
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings


def rules_at(kind: str) -> str:
    """The question asked of a part at an interface."""
    return DASH if kind == "dash" else SPEAKER


def lifted(rules: Sequence[Rule], by_drill: bool) -> list[Rule]:
    """The rules that new screw holes lift, or the others."""
    return [rule for rule in rules if (rule.lifted_at is not None) == by_drill]


class Interfaces(NamedTuple):
    """The interfaces of an opening, with their figures."""

    mates: Mates
    columns: Columns
    """Of ``mouth``, a row for each of them, in the order of `Mates.mouths`."""
    opening: Columns
    """The one row of the opening."""


def interfaces_of(
    place: Place, opening: Columns, pieces: int, k: int, adapters: Parts, settings: Settings
) -> Interfaces:
    """The interfaces of an opening within its step, with adapters made for its kind."""
    holes = holes_of(place.kind, opening)
    rows, count = len(holes), len(adapters)
    through = adapter_interfaces(
        holes.columns.take(np.tile(np.arange(rows), count)),
        adapters.subject("adapter").take(np.repeat(np.arange(count), rows)),
        rows * count,
    )
    bare = bare_interfaces(holes)
    read = set(map(str, figures_of(tuple(rules_of(rules_at(place.kind))))))
    met = Columns({name: joined(bare[name], through[name]) for name in bare if name in read})
    step = np.concatenate([holes.step, np.maximum(np.tile(holes.step, count), BOARD_STEP)])
    base, bolts = (
        np.concatenate([np.full(rows, FITS, np.int8), _adapter_codes(holes, adapters, by_drill, settings)])
        for by_drill in (False, True)
    )
    near = (base != NO) & is_allowed(step, place.allowed) & ((bolts != NO) | is_allowed(DRILLED, place.allowed))
    cut = np.tile(holes.is_cut, count + 1)
    facts = _Facts(met, step, base, bolts, near, cut)
    return _by_class(place, facts, rows, adapters, prices(adapters, pieces, settings), k, opening)


class _Facts(NamedTuple):
    """By adapter, the bare hole first, and hole."""

    met: Columns
    step: Numbers
    base: Any
    bolts: Any
    near: Any
    cut: Any


def _adapter_codes(holes: Holes, adapters: Parts, by_drill: bool, settings: Settings) -> Any:
    """Compatibility of each adapter with each hole, by the rules that a drill lifts or by the others."""
    count, rows = len(adapters), len(holes)
    at = Evaluation(adapters.subject("adapter").down() | holes.columns.across(), settings)
    codes = worst(lifted(rules_of(ADAPTER), by_drill), at)
    return refused_or_not(np.broadcast_to(codes, (count, rows))).reshape(-1)


def prices(adapters: Parts, pieces: int, settings: Settings) -> Numbers:
    """Price of each adapter with its labor, in cents; zero if it has no price."""
    return np.where(adapters.cells["price"].known, money_cents(adapters, pieces, settings), 0)


def money_cents(parts: Parts, pieces: int, settings: Settings) -> Numbers:
    """Whole packs of each part for some pieces, and the labor of fitting each, in cents."""
    price, pack_of, labour_h = (parts.cells[name] for name in ("price", "pack_of", "labour_h"))
    pack = np.where(pack_of.known, pack_of.values // MICRO, 1)
    goods = _cents(price.values * ((pieces + pack - 1) // pack) * 100, MICRO)
    rate = settings.charged("labour_rate") * pieces * 100
    times, by = rate.as_integer_ratio()
    return goods + _cents(np.where(labour_h.known, labour_h.values, 0) * times, MICRO * by)


def _cents(values: Numbers, by: int) -> Numbers:
    return (values + by // 2) // by


def _by_class(
    place: Place, facts: _Facts, rows: int, adapters: Parts, prices: Numbers, k: int, opening: Columns
) -> Interfaces:
    """Group adapters that give the same in every hole; the bare opening is a class of its own."""
    count = len(adapters) + 1
    near = facts.near.reshape(count, rows)
    told = [facts.step, facts.base.astype(np.int64), facts.bolts.astype(np.int64)]
    for column in facts.met.values():
        told += [np.where(column.known, column.values.astype(np.int64), -(1 << 60)), column.tol]
    keys = [np.where(near, each.reshape(count, rows), -2)[:, at] for each in told for at in range(rows)]
    keys += [near[:, at].astype(np.int64) for at in range(rows)]
    keys.append(np.concatenate([[1], np.zeros(count - 1, np.int64)]))
    alike = distinct(keys, count).number
    found: dict[int, list[int]] = {}
    cents = np.concatenate([[0], prices])
    # The bare opening has no name: it comes before all of its price.
    for one in np.lexsort((np.arange(count), cents)).tolist():
        if near[one].any():
            found.setdefault(int(alike[one]), []).append(one)
    mates = [[_mate(one, adapters, cents) for one in some[:k]] for some in found.values()]
    mouths, at = [], []
    for number, some in enumerate(found.values()):
        for hole in np.flatnonzero(near[some[0]]).tolist():
            row = some[0] * rows + hole
            at.append(row)
            mouths.append(
                Mouth(bool(facts.cut[row]), number, *(int(part[row]) for part in (facts.step, facts.base, facts.bolts)))
            )
    order = sorted(range(len(mouths)), key=lambda one: (mouths[one].cut, mouths[one].place))
    kept = Mates(place.allowed, mates, [len(some) for some in found.values()], [mouths[one] for one in order])
    taken = np.array([at[one] for one in order], np.int64)
    return Interfaces(kept, facts.met.take(taken), opening)


def _mate(one: int, adapters: Parts, cents: Numbers) -> dict[str, Any]:
    if one == 0:
        return {"adapter_id": None, "price": None, "pack_of": None, "labour_h": None, "cents": 0}
    cells = {name: _plain(adapters.cells[name], one - 1) for name in ("price", "pack_of", "labour_h")}
    pack_of = cells["pack_of"]
    cells["pack_of"] = None if pack_of is None else int(pack_of)
    return {"adapter_id": str(adapters.part_ids[one - 1]), **cells, "cents": int(cents[one])}


def _plain(column: Column, row: int) -> Any:
    return from_micro(column.values[row]) if column.known[row] else None  # type: ignore[index]
