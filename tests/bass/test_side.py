"""Some systems of a bass side, and how many there are: against all of them listed one by one."""

from __future__ import annotations

import itertools
from decimal import Decimal

import numpy as np
import pytest

from matcher.rules.rule import FITS
from matcher.search.bass.side import BassSide
from matcher.search.bass.systems import BassSystem, DriverFigures
from matcher.search.feeds.links import BlockLink
from tests.bass.towns import EVERYTHING, gather, judged_cdb, lay_job, lay_town, systems_of
from tests.factories import Bench

SEEDS = (12, 15, 29)


@pytest.fixture(params=SEEDS)
def side(request: pytest.FixtureRequest, bench: Bench) -> BassSide:
    lay_town(bench, request.param, 2)
    found = gather(bench, lay_job(bench, 100 * request.param), EVERYTHING).bass
    assert found is not None and found.ways
    return found


def names(systems: list[BassSystem]) -> set[tuple[str, str, str]]:
    return {one.name for one in systems}


def is_open(one: BassSystem) -> bool:
    return one.code != FITS or bool(set(one.figures.estimated) & set(DriverFigures._fields))


def test_systems_with_a_part(side: BassSide) -> None:
    every = systems_of(side)
    for part in {part for name in names(every) for part in name[:2] if part} | {"another"}:
        some = side.only(lambda stock, part=part: stock.with_part(part))  # type: ignore[misc]
        assert names(systems_of(some)) == {name for name in names(every) if part in name[:2]}
        assert bool(some.ways) == bool(systems_of(some))


def test_systems_by_name_and_without(side: BassSide) -> None:
    every = names(systems_of(side))
    for name in every:
        assert names(systems_of(side.only(lambda stock, name=name: stock.named([name])))) == {name}  # type: ignore[misc]
        left = side.only(lambda stock, name=name: stock.named([name], without=True))  # type: ignore[misc]
        assert names(systems_of(left)) == every - {name}


def test_systems_of_which_something_is_open(side: BassSide) -> None:
    assert names(systems_of(side.only(lambda stock: stock.open()))) == {
        one.name for one in systems_of(side) if is_open(one)
    }


@pytest.mark.parametrize("power_w", [1, 40, 400])
def test_no_known_system_is_judged_louder_than_a_hopeful_one(side: BassSide, power_w: int) -> None:
    link = BlockLink(None, None, Decimal(power_w), Decimal(power_w), False)
    every = {one.name: judged_cdb(one, link) for one in systems_of(side)}
    loudest = max((level for level in every.values() if level is not None), default=0)
    for hoped in systems_of(side.hopeful()):
        level = judged_cdb(hoped, link)
        assert level is not None
        assert level == every[hoped.name] or (every[hoped.name] is None and level >= loudest)


def test_the_bound_of_a_driver_on_a_feed_is_at_least_each_of_its_boxes(side: BassSide) -> None:
    for stock, gain in itertools.product(side.stocks, (0, 1777, 2500)):
        for group in stock.groups:
            driver, box, power, travel = group.front(False)
            level = np.minimum(power + gain, travel)
            for at, pair in np.argwhere(group.can).tolist():
                cheaper = level[(driver == at) & (box <= pair)]
                assert cheaper.max() >= stock.judged(group, at, [pair], gain)[0]


def test_parts_are_counted_where_they_go_in(side: BassSide) -> None:
    every = systems_of(side)
    for stock in side.stocks:
        here = [one for one in every if one.box.opening_id == stock.opening_id]
        for at, tally in enumerate(side.tallies(stock.opening_id)):
            can, sure = (
                {one.name[at] for one in here if not (only and one.code != FITS)} - {""} for only in (False, True)
            )
            assert tally == (len(can), len(sure))
