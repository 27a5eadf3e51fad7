"""Some systems of a bass side, and how many there are: against all of them listed one by one."""

from __future__ import annotations

import pytest

from matcher.search.bass.side import BassSide
from matcher.search.bass.systems import BassSystem
from tests.bass.towns import EVERYTHING, gather, lay_job, lay_town, systems_of
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
    figures = one.figures
    known = (figures.fs_hz, figures.qts, figures.qes, figures.vas_l, figures.sd_cm2, figures.xmax_mm)
    return one.unsure or None in known


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


def test_hopeful_levels_are_the_greatest_of_any(side: BassSide) -> None:
    every = {one.name: one for one in systems_of(side)}
    at_1w = max((one.at_1w_cdb for one in every.values() if one.at_1w_cdb is not None), default=None)
    travel = max((one.travel_cdb for one in every.values() if one.travel_cdb is not None), default=None)
    for hoped in systems_of(side.hopeful()):
        one = every[hoped.name]
        assert hoped.at_1w_cdb == (at_1w if one.at_1w_cdb is None else one.at_1w_cdb)
        assert hoped.travel_cdb == (travel if one.travel_cdb is None else one.travel_cdb)


def test_parts_are_counted_where_they_go_in(side: BassSide) -> None:
    every = systems_of(side)
    for stock in side.stocks:
        here = [one for one in every if one.box.opening_id == stock.opening_id]
        for at, tally in enumerate(side.tallies(stock.opening_id)):
            can, sure = ({one.name[at] for one in here if not (only and one.unsure)} - {""} for only in (False, True))
            assert tally == (len(can), len(sure))
