"""What holds of every ranking, whatever the catalog: on random small towns."""

from __future__ import annotations

import json
from copy import deepcopy
from itertools import pairwise
from random import Random
from typing import Any

import pytest

from catalog_schema.answers import Options
from catalog_schema.jobs import LADDER
from tests.factories import Row
from tests.search.shops import Settled, Store, drawn_job, every_package

ALL = 10_000
"""More than any small town has packages."""


def everything(settled: Settled, document: Row) -> dict[tuple[str, ...], tuple[int, int]]:
    """Every package of a job by its parts: score and price."""
    found = every_package(settled.rank(settled.job(document), ALL), ALL)
    return {one.name: (one.points, one.cents) for one in found}


def best(found: dict[tuple[str, ...], tuple[int, int]]) -> float:
    return max((points for points, _ in found.values()), default=float("-inf"))


def answer(told: Options) -> dict[str, Any]:
    """All of an answer that a clock has no part in."""
    return told.to_dict() | {"seconds": None}


def looser(document: Row) -> list[Row]:
    """The same job with each of its limits loosened by itself."""
    limits = document["limits"]
    changes: list[Row] = [{"alteration": step} for step in LADDER[LADDER.index(limits["alteration"]) + 1 :]]
    changes += [{name: None} for name in ("budget", "screen_min_in") if name in limits]
    changes += [{"budget": limits["budget"] + 20}] if "budget" in limits else []
    changes += [{"must": limits["must"][1:]}] if "must" in limits else []
    changes += [{"at_rest_ma": most} for most in (60, 1000)]
    for place, step in limits.get("per_opening", {}).items():
        changes += [{"per_opening": {place: above}} for above in LADDER[LADDER.index(step) + 1 :][:1]]
    return [deepcopy(document) | {"limits": deepcopy(limits) | change} for change in changes]


@pytest.mark.parametrize("seed", range(61, 63))
def test_a_looser_limit_loses_no_package_and_lowers_no_score(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_in", "bolt_on", "bolt_on", "hidden_cut"])
    document["limits"] = {"budget": 250, "must": ["radio"], "at_rest_ma": 31} | document["limits"]
    tight = everything(settled, document)
    for loose in looser(document):
        found = everything(settled, loose)
        assert tight.keys() <= found.keys(), loose
        assert all(found[name] == value for name, value in tight.items()), loose


@pytest.mark.parametrize("seed", range(70, 72))
def test_more_money_never_buys_less(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_on", "metal_cut"])
    spent = sorted({cents for _, cents in everything(settled, document).values()})
    budgets = [cents / 100 for cents in sorted({0, *spent[:6]})]
    bests = [
        best(everything(settled, deepcopy(document) | {"limits": document["limits"] | {"budget": b}})) for b in budgets
    ]
    assert bests == sorted(bests)
    ranked = settled.rank(settled.job(document | {"tiers": budgets}), 1)
    told = [found.points if found else float("-inf") for _, found in ranked.at_budget]
    assert told == bests


@pytest.mark.parametrize("seed", range(75, 77))
def test_more_charging_loses_no_package_and_lowers_no_score(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_on", "metal_cut"])
    told = []
    for charge_a in (28, 35, 60, 200):
        rate = settled.settings.own.get("labour_rate")
        charged = store.lay_town(settled.parts, settled.openings, settled.ground, rate, charge_a=charge_a)
        told.append(everything(charged, document))
    assert all(less.items() <= more.items() for less, more in pairwise(told))
    assert len(told[0]) < len(told[-1]), "the least of them had room for every package"


@pytest.mark.parametrize("seed", range(81, 83))
def test_the_order_of_rows_and_asking_twice_change_nothing(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_on", "metal_cut"], tiers=[100, 300])
    settled.job(document)
    once, again = (json.dumps(answer(store.options("j1", top=3))) for _ in range(2))
    assert once == again
    parts, openings = settled.parts[:], settled.openings[:]
    draw.shuffle(parts)
    draw.shuffle(openings)
    rate = settled.settings.own.get("labour_rate")
    shuffled = store.lay_town(parts, openings, settled.ground, rate)
    shuffled.job(document)
    assert json.dumps(answer(store.options("j1", top=3))) == once


def without(store: Store, settled: Settled, part_id: str) -> Settled:
    """The same town without a part."""
    parts = [row for row in settled.parts if row["part_id"] != part_id]
    return store.lay_town(parts, settled.openings, settled.ground, settled.settings.own.get("labour_rate"))


@pytest.mark.parametrize("seed", range(90, 92))
def test_a_part_that_is_in_no_package_told_changes_nothing(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_on", "metal_cut"])
    settled.job(document)
    told = answer(store.options("j1", top=2))
    words = json.dumps(told["packages"])
    idle = next(row["part_id"] for row in settled.parts if f'"{row["part_id"]}"' not in words)
    without(store, settled, idle).job(document)
    assert answer(store.options("j1", top=2))["packages"] == told["packages"]


@pytest.mark.parametrize("seed", range(94, 96))
def test_without_the_winners_part_the_best_of_the_others_wins(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_on", "metal_cut"])
    found = everything(settled, document)
    lost = next((word for name in list(found)[:1] for word in name if word), None)
    left = {name: value for name, value in found.items() if lost is None or lost not in name}
    if lost is not None:
        settled = without(store, settled, lost)
    assert everything(settled, document) == left
