"""Whole jobs with bass against plain enumeration, on random small towns."""

from __future__ import annotations

from itertools import product

import pytest

from matcher.search.catalog.catalog import Catalog
from matcher.search.options import rank
from matcher.shop.base import shop_settings
from tests.bass.towns import lay_job, lay_town, ranked
from tests.factories import Bench
from tests.search.shops import every_package
from tests.soak import first

SEEDS = (2, 5, 12, 15, 18, 23, 29, 38)
"""Towns that hold between them what the last test asks for, some without any package."""


@pytest.mark.parametrize("spots", [1, 2])
@pytest.mark.parametrize("seed", first(3, SEEDS))
def test_the_best_packages_are_those_of_plain_enumeration(bench: Bench, seed: int, spots: int) -> None:
    lay_town(bench, seed, spots)
    for number in range(3):
        job, top = lay_job(bench, 100 * seed + number), (1, 3, 40)[number]
        everything, sure, considered = ranked(bench, job, top)
        got = rank(Catalog(bench.con, shop_settings(bench.con)), job, top)
        want = [(whole.points, whole.cents, whole.name) for whole in everything[:top]]
        assert [(found.points, found.cents, found.name) for found in every_package(got, top)] == want
        assert (got.sure and (got.sure.points, got.sure.name)) == (sure and (sure.points, sure.name))
        assert got.considered == considered


@pytest.mark.soak
def test_the_towns_hold_what_they_are_meant_to(bench: Bench) -> None:
    """Packages and none, sure and unsure ones, boxes bought and made, two drivers, own and bridged amplifiers."""
    seen: set[str] = set()
    for seed, spots in product(SEEDS, (1, 2)):
        lay_town(bench, seed, spots)
        job = lay_job(bench, 100 * seed)
        got = rank(Catalog(bench.con, shop_settings(bench.con)), job, 40)
        seen |= {"none"} if not got.found else {"some"}
        seen |= {"sure"} if got.sure else set()
        for found in every_package(got, 40):
            for one in found.fitted:
                seen |= {each.slot for each in one.candidate.along}
                seen |= {"a board" for each in one.candidate.along if each.slot == "board" and each.part_id}
                seen |= {"pair"} if found.uses[-1] else set()
                if one.bass is not None and one.feed is not None:
                    seen |= {one.feed.source, one.feed.mode, str(one.bass.drivers)}
                    seen |= {"made"} if one.bass.shape is not None else {str(one.bass.figures.kind)}
    assert seen >= {"none", "some", "sure", "amplifier", "bass_amplifier", "bass", "bridged", "1", "2", "made"}
    assert seen >= {"sealed", "vented", "accessory", "pair", "a board"}
