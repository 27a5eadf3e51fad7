"""Wishes about parts: the answer is that of a catalog without the parts that are not wished, with what is pinned."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random
from typing import Any

import pytest

from catalog_schema.jobs import Job
from matcher.errors import FileRefused, InputError, NotKnown
from matcher.rules.rule import FITS, NO
from matcher.search.catalog.wishes import delivery_codes
from matcher.search.what_if.loosened import relaxations
from matcher.search.what_if.relaxed import WhatIf, limits_of, smallest_conflicts, stated
from tests.factories import (
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    head_unit,
    job,
    speaker,
    speaker_opening,
)
from tests.search.oracle import ranked
from tests.search.shops import Settled, Store, drawn_job, every_package
from tests.soak import first

OWN = {
    "head_unit": {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4, "standby_ma": 1, "preouts": 4, "preout_v": 2},
    "amplifier": {"input_min_v": 1, "input_max_v": 4, "standby_ma": 1},
}


def drawn_wishes(draw: Random, settled: Settled) -> tuple[Row, Callable[[Row], bool]]:
    """Wishes as a job's limits state them, and whether they surely leave a part out."""
    parts = draw.sample([row["part_id"] for row in settled.parts], min(2, len(settled.parts)))
    if draw.random() < 0.5:
        return {"without": {"parts": parts}}, lambda row: row["part_id"] in parts
    makers = {row["part_id"]: row["maker"] for row in settled.parts}
    maker = draw.choice(sorted(makers.values()))
    return {"without": {"makers": [maker.upper()]}}, lambda row: row["maker"] == maker


def with_makers(store: Store, seed: int) -> Settled:
    """A random town whose parts are of three makers."""
    settled, draw = store.settle(seed), Random(seed)
    for row in settled.parts:
        row["maker"] = draw.choice(["Ulvo", "Brae", "Skarv"])
        store.con.execute(
            f"update {row['family']}_rows set maker = ? where part_id = ?", [row["maker"], row["part_id"]]
        )
    return settled


@pytest.mark.parametrize("seed", first(2, range(10)))
def test_packages_are_those_of_a_catalog_without_what_is_left_out(store: Store, seed: int) -> None:
    settled, draw = with_makers(store, seed), Random(seed + 7)
    for _ in range(6):
        wishes, is_left_out = drawn_wishes(draw, settled)
        document = drawn_job(draw, ["bolt_on", "metal_cut"])
        asked = settled.job(document | {"limits": document["limits"] | wishes})
        town = replace(settled.town, parts=[row for row in settled.parts if not is_left_out(row)])
        everything, sure, considered = ranked(town, asked)
        got = settled.rank(asked, 5)
        found = [(one.points, one.cents, one.name) for one in every_package(got, 5)]
        assert found == [(one.points, one.cents, one.names) for one in everything[:5]], (seed, wishes)
        assert (got.sure and got.sure.name) == (sure and sure.names)
        assert got.considered == considered


@pytest.mark.parametrize("seed", first(2, range(20, 30)))
def test_a_pinned_part_is_in_every_package_and_no_package_with_it_is_lost(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    for _ in range(6):
        document = drawn_job(draw, ["bolt_on", "metal_cut"])
        place = draw.choice([name for name in document["choose"] if name in ("door", "shelf", "centre")] or ["door"])
        if place in document["keep"]:
            continue
        row = draw.choice([one for one in settled.parts if one["family"] == "speaker"] or [speaker()])
        plain = document | {"choose": list(dict.fromkeys([*document["choose"], place]))}
        everything = every_package(settled.rank(settled.job(plain), 10**6), 10**6)
        want = [one.name for one in everything if part_at(one, place) == row["part_id"]]
        got = every_package(settled.rank(settled.job(document | {"pin": {place: row["part_id"]}}), 5), 5)
        assert [one.name for one in got] == want[:5], (seed, place, row["part_id"])


def part_at(found: Any, place: str) -> str | None:
    return next((one.candidate.part_id for one in found.fitted if one.candidate.opening_id == place), None)


def town(store: Store, *more: Row) -> Settled:
    """One head unit, two loudspeakers for the doors, the first the better one, and an amplifier."""
    parts = [
        head_unit(**OWN["head_unit"]),
        speaker(part_id="best", maker="Brae", price=60, lead_days=9, stock=0),
        speaker(part_id="next", maker="Skarv", price=80, lead_days=3, stock=0),
        speaker(part_id="asked", maker="Skarv", price=100, lead_days=None, stock=0),
        amplifier(**OWN["amplifier"]),
        *more,
    ]
    store.clear()
    settled = store.lay_town(parts, [dash_opening(), speaker_opening(), amp_spot()])
    store.con.execute("update speaker_rows set supplier = 'North List' where maker = 'Brae'")
    return settled


WISHES: list[tuple[Row, list[str]]] = [
    ({}, ["best", "next", "asked"]),
    ({"limits": {"without": {"parts": ["best"]}}}, ["next", "asked"]),
    ({"limits": {"without": {"makers": ["brae"]}}}, ["next", "asked"]),
    ({"limits": {"without": {"suppliers": ["north list"]}}}, ["next", "asked"]),
    ({"limits": {"without": {"makers": ["Nobody"]}}}, ["best", "next", "asked"]),
    ({"limits": {"deliver_within_days": 9}}, ["best", "next", "asked"]),  # exactly on the limit
    ({"limits": {"deliver_within_days": 8}}, ["next", "asked"]),  # unknown delivery is no late delivery
    ({"limits": {"deliver_within_days": 2}}, ["asked"]),
    ({"pin": {"door": "next"}}, ["next"]),
    ({"pin": {"door": "next"}, "choose": ["head_unit"]}, ["next"]),  # what is pinned is chosen
    ({"pin": {"door": "next"}, "limits": {"without": {"makers": ["Skarv"]}}}, []),
    ({"pin": {"amplifier": "amplifier-1"}}, ["best", "next", "asked"]),
]


@pytest.mark.parametrize(("wishes", "expected"), WISHES)
def test_loudspeakers_that_wishes_leave(store: Store, wishes: Row, expected: list[str]) -> None:
    settled = town(store)
    found = every_package(settled.rank(settled.job(job(**wishes)), 99), 99)
    assert list(dict.fromkeys(part_at(one, "door") for one in found)) == expected
    if "amplifier" in wishes.get("pin", {}):
        assert all(any(one.candidate.part_id == "amplifier-1" for one in each.fitted) for each in found)


def test_the_sure_package_holds_no_part_of_unknown_delivery(store: Store) -> None:
    settled = town(store)
    save = settled.job(job(limits={"deliver_within_days": 2}))
    answer = store.options(save.job_id)
    assert {package.verdict for package in answer.packages} == {"measure"}
    assert "part:asked.lead_days" in answer.packages[0].measure
    assert settled.rank(save, 1).sure is None
    settled.job(job(limits={"deliver_within_days": 3}))
    told = {package.verdict: package.lines[1].part_id for package in store.options("j1").packages}
    assert told["fits"] == "next" if "fits" in told else settled.rank(save, 1).sure is None


@pytest.mark.parametrize(
    ("row", "days", "code"),
    [
        ({"lead_days": 3, "stock": 0}, 3, 2),
        ({"lead_days": 4, "stock": 0}, 3, 0),
        ({"lead_days": None, "stock": 0}, 3, 1),
        ({"lead_days": 4, "stock": 2}, 3, 2),  # two in stock for two doors
        ({"lead_days": 4, "stock": 1}, 3, 0),
        ({"lead_days": None, "stock": None}, 3, 1),
    ],
)
def test_delivery_of_a_pair(store: Store, row: Row, days: int, code: int) -> None:
    settled = store.lay_town([speaker(**row)], [speaker_opening()])
    (found,) = delivery_codes(settled.catalog.parts("speaker"), days, settled.settings, 2).tolist()
    assert (found >= FITS, found == NO) == (code == 2, code == 0)


CONFLICTS: list[tuple[Row, set[frozenset[str]], set[str]]] = [
    (
        {"pin": {"door": "next"}, "limits": {"without": {"makers": ["Skarv", "Nobody"]}}},
        {frozenset({"pin.door", "without.makers"})},
        {"another part than next at door", "allow maker Skarv"},
    ),
    (
        {"pin": {"door": "best"}, "limits": {"deliver_within_days": 4}},
        {frozenset({"pin.door", "deliver_within_days"})},
        {"another part than best at door", "delivery within 9 days instead of 4 days"},
    ),
    (
        {"pin": {"amplifier": "amplifier-1"}, "limits": {"without": {"parts": ["amplifier-1", "best"]}}},
        {frozenset({"pin.amplifier", "without.parts"})},
        {"another part than amplifier-1 at amplifier", "allow part amplifier-1"},
    ),
]


@pytest.mark.parametrize(("wishes", "conflicts", "helps"), CONFLICTS)
def test_an_unsatisfiable_wish_is_told_like_any_limit(
    store: Store, wishes: Row, conflicts: set[frozenset[str]], helps: set[str]
) -> None:
    settled = town(store)
    asked = stated(settled.job(job(**wishes)), settled.catalog)
    names = limits_of(settled.catalog, asked)
    assert set(smallest_conflicts(names, WhatIf(settled.catalog, asked))) == conflicts
    why = store.why(asked.job_id)
    assert {change.says for one in why.relaxations for change in one.changes} == helps
    assert all(loose.found for loose in relaxations(WhatIf(settled.catalog, asked), names, list(conflicts)))
    prices = {one.limit: one.package for one in store.limits(asked.job_id).limits}
    assert all(prices[name] is not None for conflict in conflicts for name in conflict)


def test_what_a_wish_costs_is_the_best_package_without_it(store: Store) -> None:
    settled = town(store)
    settled.job(job(limits={"without": {"makers": ["Brae"]}}))
    price = next(one for one in store.limits("j1").limits if one.limit == "without.makers")
    assert (price.costs, price.value) == (True, "without makers: Brae")
    assert price.package is not None and "best" in {line.part_id for line in price.package.lines}
    reason = store.why("j1", part="best").part
    assert reason is not None and reason.reason == "limits"


def test_measure_looks_at_wished_parts_alone(store: Store) -> None:
    settled = town(store, speaker(part_id="dark", maker="Brae", price=10, depth_mm=None))
    settled.job(job())
    assert "part:dark.depth_mm" in {one.figure for one in store.measure("j1").figures}
    settled.job(job(limits={"without": {"makers": ["Brae"]}}))
    assert "part:dark.depth_mm" not in {one.figure for one in store.measure("j1").figures}


@pytest.mark.parametrize(
    ("pin", "found"),
    [
        ({"moon": "best"}, "moon"),
        ({"door": "amplifier-1"}, "amplifier-1, amplifier"),
        ({"dash": "best"}, "best, speaker"),
    ],
)
def test_a_pin_that_cannot_be_is_refused(store: Store, pin: Row, found: str) -> None:
    settled = town(store)
    with pytest.raises(FileRefused, match=found):
        settled.job(job(pin=pin))
    with pytest.raises(FileRefused, match="keep the original"):
        settled.job(job(pin={"door": "best"}, keep=["door"]))


def test_names_are_found_in_the_catalog_and_a_slip_is_told(store: Store) -> None:
    settled = town(store)
    settled.job(job())
    store.jobs.edit(
        "j1", {"without": ["BRAE", "next", "north list"], "pin": {"door": "asked"}, "deliver-by": "2 weeks"}
    )
    limits = store.jobs.document("j1").document["limits"]
    assert limits["without"] == {"parts": ["next"], "makers": ["Brae"], "suppliers": ["North List"]}
    assert limits["deliver_within_days"] == "2 weeks"
    store.jobs.edit("j1", {"without": ["none"], "pin": {"door": "none"}, "deliver-by": "none"})
    assert store.jobs.document("j1").document["pin"] == {}
    store.con.execute("update head_unit_rows set features = ['bluetooth']")
    for slip in ({"without": ["Brea"]}, {"pin": {"door": "bets"}}, {"must": ["bluetoth"]}):
        with pytest.raises(NotKnown, match="did you mean"):
            store.options("j1", terms=slip)
    with pytest.raises(InputError, match="deliver-by"):
        store.options("j1", terms={"deliver-by": "soon"})


def wished_jobs(settled: Settled) -> Iterator[Job]:
    for wishes, _ in WISHES:
        yield settled.job(job(**wishes))


def test_another_question_keeps_nothing_of_the_wishes_before(store: Store) -> None:
    settled = town(store)
    once = [[one.name for one in every_package(settled.rank(each, 9), 9)] for each in wished_jobs(settled)]
    again = [[one.name for one in every_package(settled.rank(each, 9), 9)] for each in wished_jobs(settled)]
    assert once == again
