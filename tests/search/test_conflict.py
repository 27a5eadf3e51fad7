"""Conflicts: every smallest set of limits that cannot hold together, found again by plain enumeration."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from copy import deepcopy
from decimal import Decimal
from itertools import combinations
from random import Random
from typing import Any

import pytest

from catalog_schema.figures import Figure
from catalog_schema.jobs import LADDER
from matcher.search.catalog.catalog import Catalog
from matcher.search.what_if.relaxed import WhatIf, limits_of, smallest_conflicts, stated, with_limits
from tests.factories import Row, amp_spot, amplifier, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.oracle import ranked
from tests.search.shops import Settled, Store, drawn_job
from tests.soak import first


def loosened(document: Row, names: set[str], places: list[str]) -> Row:
    """A job's file with some limits taken out of it."""
    loose = deepcopy(document)
    limits = loose["limits"]
    for name in names:
        stem, _, what = name.partition(".")
        if stem == "choose":
            places = [place for place in places if place != what]
        elif stem == "keep":
            loose["keep"].remove(what)
        elif stem == "must":
            limits["must"] = [feature for feature in limits["must"] if feature != what]
        elif stem == "per_opening":
            limits["per_opening"][what] = LADDER[-1]
        else:
            limits[stem] = {"alteration": LADDER[-1], "at_rest_ma": 1000}.get(stem)
    return loose | {"choose": places or ["seat"]}


def subsets(names: Iterable[str]) -> Iterator[set[str]]:
    """Every set of some names, the smallest first."""
    every = sorted(names)
    return (set(some) for size in range(len(every) + 1) for some in combinations(every, size))


def conflicts_one_by_one(settled: Settled, document: Row, names: list[str]) -> set[frozenset[str]]:
    """Every smallest set of limits without a package, by trying every set; what need not be filled may be."""
    places = [name.partition(".")[2] for name in names if name.startswith("choose.")]
    found: set[frozenset[str]] = set()
    for size in range(len(names) + 1):
        for held in map(frozenset, combinations(names, size)):
            if not any(smaller <= held for smaller in found):
                lifted = set(names) - held
                filled = subsets(name for name in lifted if name.startswith("choose."))
                jobs = (settled.job(loosened(document, lifted - some, places)) for some in filled)
                if not any(ranked(settled.town, job_)[0] for job_ in jobs):
                    found.add(held)
    return found


@pytest.mark.parametrize("seed", first(2, range(1, 4)))
def test_conflicts_are_those_of_every_set_tried(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed + 40), Random(seed)
    tried = 0
    while tried < 2:
        document = drawn_job(draw, ["bolt_in", "bolt_on"])
        document["limits"] |= draw.choice([{}, {"budget": 60}, {"must": ["mirror", "dance"]}])
        asked = stated(settled.job(document), settled.catalog)
        names = limits_of(settled.catalog, asked)
        if len(names) > 6:
            continue
        tried += 1
        told = list(smallest_conflicts(names, WhatIf(settled.catalog, asked)))
        assert set(told) == conflicts_one_by_one(settled, document, names), (seed, document)
        assert len(told) == len(set(told))
        assert bool(told) == (not settled.rank(asked, 1).found)


def test_a_place_that_need_not_be_filled_may_still_help_another_to_its_load(store: Store) -> None:
    """Two pairs in parallel get 75 W each; one pair alone would get 100 W, more than it takes."""
    parts = [
        head_unit(amp_channels=0, preouts=2, preout_v=2, standby_ma=1),
        amplifier(full_channels=2, full_w_4ohm=100, full_w_2ohm=150, input_min_v=1, input_max_v=4, standby_ma=1),
        speaker(rms_w=60),
    ]
    openings = [dash_opening(), speaker_opening(), speaker_opening(opening_id="rear"), amp_spot()]
    settled = store.lay_town(parts, openings)
    asked = stated(settled.job(job(limits={"budget": 10})), settled.catalog)
    names = limits_of(settled.catalog, asked)
    told = set(smallest_conflicts(names, WhatIf(settled.catalog, asked)))
    assert told == {
        frozenset({"choose.head_unit", "budget"}),
        frozenset({"choose.door", "budget"}),
        frozenset({"choose.rear", "budget"}),
    }


def lifts(settled: Settled, document: Row, names: list[str]) -> set[str]:
    """The limits whose lifting alone gives a package."""
    places = [name.partition(".")[2] for name in names if name.startswith("choose.")]
    return {name for name in names if ranked(settled.town, settled.job(loosened(document, {name}, places)))[0]}


@pytest.mark.parametrize("seed", first(1, range(51, 53)))
def test_one_limit_helps_alone_where_it_is_in_every_conflict(store: Store, seed: int) -> None:
    settled, draw = store.settle(seed), Random(seed)
    document = drawn_job(draw, ["bolt_on"])
    document["limits"] |= {"budget": 1, "must": ["dance"]} if seed % 2 else {"budget": 1}
    asked = stated(settled.job(document), settled.catalog)
    names = limits_of(settled.catalog, asked)
    told = list(smallest_conflicts(names, WhatIf(settled.catalog, asked)))
    assert told
    assert lifts(settled, document, names) == set(frozenset.intersection(*told))


def town(store: Store, **car: Any) -> Settled:
    """One head unit that rests on 5 mA and one loudspeaker for the doors."""
    own = {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4, "standby_ma": 5, "features": ["radio"]}
    return store.lay_town(
        [head_unit(**own | {"screen": "flush", "screen_in": 7}), speaker()],
        [dash_opening(), speaker_opening(), amp_spot()],
        **car,
    )


UNIT = {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4}
WORDS = ["radio", "dance"]


@pytest.mark.parametrize("seed", first(1, range(60, 72)))
def test_whether_there_is_a_package_is_the_same_whatever_was_asked_before(store: Store, seed: int) -> None:
    draw = Random(seed)
    units = [
        head_unit(**UNIT | {"part_id": f"unit-{at}", "screen": "flush", "screen_in": draw.randint(5, 9)})
        | {"price": draw.randint(60, 400), "standby_ma": draw.randint(1, 20), "features": draw.sample(WORDS, 1)}
        for at in range(6)
    ]
    settled = store.lay_town([*units, speaker()], [dash_opening(), speaker_opening(), amp_spot()])
    plain = stated(settled.job(job()), settled.catalog)
    possible, said = WhatIf(settled.catalog, plain), set()
    for _ in range(20):
        asked = with_limits(
            plain,
            alteration=draw.choice(LADDER),
            per_opening={"dash": draw.choice(LADDER)} if draw.random() < 0.4 else {},
            budget=draw.choice([None, 150, 300, 600]),
            screen_min_in=draw.choice([None, None, Figure(Decimal(6)), Figure(Decimal(7)), Figure(Decimal(9))]),
            must=tuple(draw.sample(WORDS, draw.choice([0, 0, 0, 1]))),
            at_rest_ma=Figure(Decimal(draw.choice([3, 10, 20]))),
        )
        met = possible.best(asked)
        anew = WhatIf(Catalog(store.con, settled.settings), asked)
        assert (met and met.order) == ((best := anew.best()) and best.order), (seed, asked.limits)
        said.add(met is None)
        if met is not None:
            assert asked.limits.budget is None or met.cents <= asked.limits.budget * 100
    assert said == {True, False}, "these jobs show nothing"


# limits, then the conflicts as they are told; all else about the job is plain
TOLD: list[tuple[Row, list[list[str]]]] = [
    ({"budget": 299.99}, [["head unit wanted", "loudspeakers wanted at door", "budget of 299.99"]]),
    ({"budget": 300}, []),  # exactly on the budget
    ({"budget": 99}, [["head unit wanted", "budget of 99"], ["loudspeakers wanted at door", "budget of 99"]]),
    ({"must": ["radio", "dance"]}, [["head unit wanted", "dance required"]]),
    ({"screen_min_in": 7.1}, [["head unit wanted", "screen of at least 7.1 in"]]),
    ({"screen_min_in": 7}, []),
    ({"at_rest_ma": 4.9}, [["head unit wanted", "standby drain at most 4.9 mA"]]),
    ({"at_rest_ma": 5}, []),
    (
        {"alteration": None, "per_opening": {"door": None}, "at_rest_ma": 4},
        [["head unit wanted", "standby drain at most 4 mA"]],
    ),
]


@pytest.mark.parametrize(("limits", "conflicts"), TOLD)
def test_conflicts_name_each_limit_with_its_value(store: Store, limits: Row, conflicts: list[list[str]]) -> None:
    settled = town(store)
    settled.job(job(limits=limits))
    told = store.options("j1")
    assert [conflict.limits for conflict in told.conflicts] == conflicts
    assert bool(told.packages) == (not conflicts)


def test_the_shops_own_limit_at_rest_is_named_where_the_job_names_none(store: Store) -> None:
    settled = town(store)
    store.set("at_rest_ma", 2)
    settled.job(job())
    assert [conflict.limits for conflict in store.options("j1").conflicts] == [
        ["head unit wanted", "standby drain at most 2 mA"]
    ]


def test_a_spot_that_stays_empty_is_named_where_it_is_the_cause(store: Store) -> None:
    deaf = {"amp_channels": 0, "preouts": 4, "preout_v": 2, "screen": "flush", "standby_ma": 1}
    amp = amplifier(input_min_v=1, input_max_v=4, standby_ma=1)
    openings = [dash_opening(), speaker_opening(), amp_spot()]
    settled = store.lay_town([head_unit(**deaf), speaker(), amp], openings)
    settled.job(job(keep=["seat"]))
    told = [conflict.limits for conflict in store.options("j1").conflicts]
    assert told == [["head unit wanted", "loudspeakers wanted at door", "original stays at seat"]]


@pytest.mark.parametrize("car", [{"system_v": 6}, {"ground": "positive"}, {"system_v": 6, "ground": "positive"}])
def test_a_car_that_no_part_is_made_for_ends_in_a_clear_refusal(store: Store, car: Row) -> None:
    settled = town(store, **car)
    settled.job(job(limits={"alteration": "metal_cut", "budget": 10_000}))
    told = store.options("j1")
    assert told.packages == []
    assert [conflict.limits for conflict in told.conflicts] == [["head unit wanted"]]
    (head,) = [slot for slot in told.slots if slot.slot == "head_unit"]
    assert (head.fits, head.measure, head.no) == (0, 0, 1)
    assert all("every powered part" in reason for reason in head.reasons[: len(car)])
