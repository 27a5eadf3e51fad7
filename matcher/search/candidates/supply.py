"""Amplifiers on the vehicle's supply: the current of each, and the cheapest sufficient cable.

A cable follows from its amplifier and the run from the battery, so it is not a choice: the first sufficient one in the
total order accompanies the amplifier, with its price and points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Columns, column_of
from matcher.kernel.distinct import Numbers
from matcher.rules.charging import CABLE, LENGTH, ON_MUSIC
from matcher.rules.rule import FITS, NO, rules_of
from matcher.rules.terms import FigureTerm
from matcher.search.candidates.common import comes_along
from matcher.search.candidates.draws import FIGURES, draw_of
from matcher.search.candidates.goods import goods_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.kit import Kit, amplifier_needs, kit_cents, kit_prices
from matcher.search.catalog.parts import cell, cells_of
from matcher.search.feeds.parts import AmplifierDraw, Candidate
from matcher.search.fits.tables import verdict_table
from matcher.search.question import Headroom
from matcher.search.scoring import Scoring

Need = tuple[Decimal, Decimal, Decimal]
"""Requirements for a cable: fuse, minimum area in copper and in copper-clad aluminum."""
Chosen = tuple[int, int]
"""A cable by its row, with its verdict code."""
NEEDED = ("fuse_a", "copper_mm2", "cca_mm2")


class Supplied(NamedTuple):
    """Current of an amplifier, and its cable if the catalog has one that suffices."""

    draw: AmplifierDraw
    cable: Candidate | None
    code: int
    """Verdict code of its supply, without the cable."""
    kit: Kit
    """The rest of its kit, including the supply cable if no list has a sufficient one."""


class Supplies(NamedTuple):
    """Supply of each amplifier of the catalog at a spot."""

    kinds: list[Supplied]
    number: Numbers
    """Index into `kinds`, by amplifier."""
    scoring: Scoring

    def given(self, one: Candidate, row: int, *along: Candidate) -> Candidate:
        """Return the amplifier of a row with its supply and its accompanying parts."""
        own = self.kinds[self.number[row]]
        more = () if own.cable is None else (own.cable,)
        paid = kit_cents(own.kit)
        return replace(
            one,
            draw=own.draw,
            unsure_supply=own.code != FITS,
            along=(*along, *more),
            kit=own.kit,
            cost=replace(one.cost, kit_cents=paid),
            points=(*one.points, ("price", self.scoring.price(paid)), ("known", self.scoring.unknown(own.code))),
        )

    @property
    def cells(self) -> dict[str, Any]:
        """By kind: points, cents, current on music in mA, and whether anything is open."""
        cables, kit = [one.cable for one in self.kinds], np.array([kit_cents(one.kit) for one in self.kinds], np.int64)
        points = np.array([0 if one is None else one.total_points for one in cables], np.int64)
        points += self.scoring.losses[[one.code for one in self.kinds]]
        return {
            "points": points + self.scoring.price(kit),
            "cents": np.array([0 if one is None else one.cents for one in cables], np.int64) + kit,
            "music": np.array([one.draw.music_ma or 0 for one in self.kinds], np.int64),
            "open": np.array(
                [one.code != FITS or bool(one.cable and one.cable.is_open) for one in self.kinds], np.bool_
            ),
        }


def supplies(
    catalog: Catalog, vehicle_id: str, spot: str, headroom: Headroom, scoring: Scoring, *, bass: bool
) -> Supplies:
    """Return the supply of each amplifier at a spot, with or without playing bass."""
    run_m = run_to(catalog, vehicle_id, spot)
    draws, number = _draws(catalog, run_m, bass)
    cables = catalog.once(("cables", run_m, vehicle_id, spot, bass), lambda: _cables(catalog, vehicle_id, run_m, bass))
    kits = catalog.once(
        ("kits", run_m, vehicle_id, spot, bass), lambda: _kits(catalog, vehicle_id, spot, run_m, cables, bass)
    )
    run = LENGTH.measure if run_m is None and has_cable(catalog) else FITS
    made = {cable: _candidate(catalog, cable, scoring) for cable in dict.fromkeys(cables) if cable is not None}
    kinds = [
        Supplied(
            draw,
            None if cable is None else made[cable],
            min(headroom.code, run, FITS if draw.music_ma is not None else ON_MUSIC.measure),
            kit,
        )
        for draw, cable, kit in zip(draws, cables, kits, strict=True)
    ]
    return Supplies(kinds, number, scoring)


def run_to(catalog: Catalog, vehicle_id: str, spot: str) -> Decimal | None:
    """Return the length of supply cable to a spot in m; if unknown, to the cargo space."""
    vehicle = catalog.vehicle(vehicle_id)
    own: Decimal | None = vehicle.opening_row("amp_spot", spot).get("run_m")
    return own if own is not None else cell(vehicle.columns["vehicle.battery_to_cargo_m"], 0)


def has_cable(catalog: Catalog) -> bool:
    """Return whether the catalog has any cable."""
    return len(catalog.parts("cable")) > 0


def need_of(draw: AmplifierDraw) -> Need | None:
    """Return an amplifier's requirements for its cable; None if unknown."""
    if draw.fuse_a is None or draw.copper_mm2 is None or draw.cca_mm2 is None:
        return None
    return draw.fuse_a, draw.copper_mm2, draw.cca_mm2


def _draws(catalog: Catalog, run_m: Decimal | None, bass: bool) -> tuple[list[AmplifierDraw], Numbers]:
    """Current of amplifiers, per distinct set of the figures that determine it."""

    def find() -> tuple[list[AmplifierDraw], Numbers]:
        parts = catalog.parts("amplifier")
        first, number = parts.sets([FigureTerm("part", name) for name in FIGURES])
        figures = (cells_of(parts.cells, FIGURES, row) for row in first.tolist())
        return [draw_of(each, bass, run_m, catalog.settings) for each in figures], number

    found: tuple[list[AmplifierDraw], Numbers] = catalog.once(("draws", run_m, bass), find)
    return found


def _cables(catalog: Catalog, vehicle_id: str, run_m: Decimal | None, bass: bool) -> list[Chosen | None]:
    """The first cable in the total order for each draw, as in `cheapest_cables`.

    Points fall with price, so the order is the same for all wishes.
    """
    needs = [need_of(draw) for draw in _draws(catalog, run_m, bass)[0]]
    wanted = list(dict.fromkeys(need for need in needs if need is not None))
    found = dict(zip(wanted, cheapest_cables(catalog, vehicle_id, wanted, run_m), strict=True))
    return [None if need is None else found[need] for need in needs]


def _kits(
    catalog: Catalog, vehicle_id: str, spot: str, run_m: Decimal | None, cables: Sequence[Chosen | None], bass: bool
) -> list[Kit]:
    """The rest of the kit for each draw."""
    parts, prices, settings = catalog.parts("amplifier"), kit_prices(catalog), catalog.settings
    areas, at = catalog.parts("cable").cells["area_mm2"], catalog.vehicle(vehicle_id).opening_row("amp_spot", spot)
    first = parts.sets([FigureTerm("part", name) for name in FIGURES]).first
    return [
        prices.kit(
            amplifier_needs(
                cells_of(parts.cells, FIGURES, row),
                draw.fuse_a,
                draw.copper_mm2,
                run_m,
                None if cable is None else cell(areas, cable[0]),
                settings,
                bass=bass,
                has_cable=cable is not None,
                signal_m=at.get("signal_m"),
                ground=at.get("ground"),
            )
        )
        for row, draw, cable in zip(first.tolist(), _draws(catalog, run_m, bass)[0], cables, strict=True)
    ]


def vehicle_at_run(catalog: Catalog, vehicle_id: str, run_m: Decimal | None) -> Columns:
    """Return the vehicle's own figures, with the run to a spot as its run to the cargo space."""
    return catalog.vehicle(vehicle_id).columns | {"vehicle.battery_to_cargo_m": column_of([run_m])}


def cheapest_cables(
    catalog: Catalog, vehicle_id: str, needs: Sequence[Need], run_m: Decimal | None
) -> list[Chosen | None]:
    """Return the first sufficient cable for each need, or else the first open one, with its verdict code."""
    cables, settings = catalog.parts("cable"), catalog.settings
    if not needs or not len(cables):
        return [None] * len(needs)
    draw = Columns(
        {f"draw.{name}": column_of(cells) for name, cells in zip(NEEDED, zip(*needs, strict=True), strict=True)}
    )
    there = draw | vehicle_at_run(catalog, vehicle_id, run_m)
    table = verdict_table(rules_of(CABLE), cables, "cable", there, len(needs), settings)
    order = np.argsort(goods_of(catalog, "cable").cents, kind="stable")
    _, first = np.unique(table.number[order], return_index=True)
    rows = order[np.sort(first)]  # of cables that are alike in every figure the first in the total order
    codes = table.codes[table.number[rows]].astype(np.int64)
    best = codes.argmax(axis=0)
    found = zip(rows[best].tolist(), codes[best, np.arange(len(needs))].tolist(), strict=True)
    return [(row, code) if code != NO else None for row, code in found]


def _candidate(catalog: Catalog, cable: Chosen, scoring: Scoring) -> Candidate:
    (row, code), name = cable, str(catalog.parts("cable").part_ids[cable[0]])
    one = comes_along("cable", None, name, goods_of(catalog, "cable").cost(row), scoring)
    return replace(one, code=code, points=(*one.points, ("known", scoring.unknown(code))))
