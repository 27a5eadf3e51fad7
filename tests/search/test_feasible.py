"""Feasible mountings of a whole family say of every part and adapter what asking for that one fit says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from catalog_schema.ladder import LADDER, step_rank
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.families import mountings_at
from matcher.search.fits.fit import fit_part
from matcher.search.fits.place import LOOSEST, Place
from tests.search.shops import Settled, Store, code_of
from tests.soak import first

ALL = 10**6


def mounted(catalog: Catalog, place: Place) -> dict[tuple[str, str | None], tuple[int, int]]:
    """By part and adapter: the step that the mounting takes, and what is said of it."""
    parts, found = catalog.parts(place.family), mountings_at(catalog, place, 2)
    told: dict[tuple[str, str | None], tuple[int, int]] = {}
    for row in range(len(found)):
        some = found.interfaces.cheapest(found.classes[int(found.through[row])], ALL)
        assert len(some) == found.ways[row], "each adapter is counted"
        for adapter in some:
            key = str(parts.part_ids[found.part[row]]), found.interfaces.adapter_id(adapter)
            assert key not in told, "through each adapter by one way alone"
            told[key] = int(found.taken[row]), int(found.code[row])
    return told


def one_by_one(settled: Settled, place: Place) -> dict[tuple[str, str | None], tuple[int, int]]:
    """The same, of each part through each adapter by itself; the vehicle's supply is no matter of mounting."""
    con = settled.catalog.con
    made_for = con.execute('SELECT part_id FROM adapter WHERE "for" = ?', [place.kind]).fetchall()
    told = {}
    for (part_id,) in con.execute(f"SELECT part_id FROM {place.family}").fetchall():
        for adapter in [None, *(name for (name,) in made_for)]:
            fit = fit_part(settled.catalog, part_id, place.vehicle_id, place.opening_id, adapter, LADDER[-1])
            if fit.alteration is not None:
                own = [check for check in fit.checks if not check.rule.startswith("supply.")]
                told[part_id, adapter] = step_rank(fit.alteration), code_of(replace(fit, checks=own))
    return told


@pytest.mark.parametrize("seed", first(2, range(10)))
def test_family_at_once_says_what_each_part_says_by_itself(store: Store, seed: int) -> None:
    settled = store.settle(seed, times=2)
    for kind, family in (("dash", "head_unit"), ("speaker", "speaker")):
        openings = store.con.execute(f"SELECT vehicle_id, opening_id FROM opening_{kind}").fetchall()
        for vehicle_id, opening_id in openings:
            place = Place(kind, family, vehicle_id, opening_id, LOOSEST)
            assert mounted(settled.catalog, place) == one_by_one(settled, place), opening_id
