"""Relaxations: each gives the package told, and a little less of any of its limits gives none."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from catalog_schema.figures import Figure
from catalog_schema.jobs import LADDER, Job, step_rank
from matcher.search.what_if.loosened import Loosened, RelaxedLimit, helping_sets, relaxations, with_limits
from matcher.search.what_if.relaxed import WhatIf, limits_of, smallest_conflicts, stated
from tests.factories import Row, amp_spot, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.oracle import ranked
from tests.search.shops import Settled, Store, drawn_job


def told(settled: Settled, asked: Job) -> tuple[list[frozenset[str]], list[Loosened]]:
    """A job's conflicts and relaxations."""
    names, possible = limits_of(settled.catalog, asked), WhatIf(settled.catalog, asked)
    conflicts = list(smallest_conflicts(names, possible))
    return conflicts, list(relaxations(possible, names, conflicts))


def a_little_less(asked: Job, loose: Job, change: RelaxedLimit, sizes: list[Decimal]) -> Job:
    """The loosened job with one of its changes drawn back by the least that there is."""
    stem, _, what = change.limit.partition(".")
    limits = loose.limits
    match stem:
        case "budget":
            assert isinstance(change.value, Decimal)
            return with_limits(loose, budget=change.value - Decimal("0.01"))
        case "at_rest_ma":
            assert isinstance(change.value, Decimal)
            return with_limits(loose, at_rest_ma=Figure(change.value - Decimal("0.001")))
        case "per_opening":
            lower = LADDER[step_rank(str(change.value)) - 1]
            return with_limits(loose, per_opening=limits.per_opening | {what: lower})
        case "screen_min_in":
            least = asked.limits.screen_min_in
            assert least is not None
            over = [size for size in sizes if (change.value or 0) < size < least.value]  # type: ignore[operator]
            return with_limits(loose, screen_min_in=Figure(min(over, default=least.value)))
        case "must":
            return with_limits(loose, must=(*(limits.must or ()), what))
        case "keep":
            return replace(loose, keep=(*(loose.keep or ()), what), choose=tuple(set(loose.choose or ()) - {what}))
        case _:
            return replace(loose, choose=(*(loose.choose or ()), what))


def hopeless(store: Store, seed: int) -> Iterator[tuple[Settled, Job]]:
    """Jobs of a random town that have no package."""
    settled, draw = store.settle(seed), Random(seed)
    for _ in range(12):
        document = drawn_job(draw, ["bolt_in", "bolt_on"])
        document["limits"] |= draw.choice([{"budget": 60}, {"must": ["mirror", "dance"]}, {"screen_min_in": 9}, {}])
        asked = stated(settled.job(document), settled.catalog)
        if len(limits_of(settled.catalog, asked)) <= 6 and not ranked(settled.town, asked)[0]:
            yield settled, asked
            return


@pytest.mark.parametrize("seed", [40, 41, 43, 44, 47, 48])
def test_a_relaxation_gives_the_package_told_and_less_gives_none(store: Store, seed: int) -> None:
    for settled, asked in hopeless(store, seed):
        conflicts, found = told(settled, asked)
        assert found
        sizes = sorted({Decimal(str(row["screen_in"])) for row in settled.parts if row.get("screen_in") is not None})
        for one in found:
            everything, _, _ = ranked(settled.town, one.job)
            best = everything[0]
            assert (one.found.points, one.found.cents, one.found.name) == (best.points, best.cents, best.names)
            for change in one.changes:
                less = a_little_less(asked, one.job, change, sizes)
                assert not ranked(settled.town, less)[0], (seed, change)
            given = {change.limit for change in one.changes}
            assert all(any(stands_for(name, given) for name in conflict) for conflict in conflicts)


def stands_for(name: str, given: set[str]) -> bool:
    """Whether a limit is among those that give: the car's alteration gives where that of an opening does."""
    return name in given or (name == "alteration" and any(one.startswith("per_opening.") for one in given))


def town(store: Store, *more: Row, **own: Any) -> Settled:
    """One head unit that rests on 5 mA and one loudspeaker for the doors; all else is plain."""
    unit = {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4, "standby_ma": 5, "features": ["radio"]}
    parts = [head_unit(**unit | {"screen": "flush", "screen_in": 7} | own), speaker(), *more]
    return store.lay_town(parts, [dash_opening(), speaker_opening(), amp_spot()])


TOLD: list[tuple[Row, set[tuple[tuple[str, Any], ...]]]] = [
    ({"budget": 299.99}, {(("budget", Decimal(300)),)}),
    ({"must": ["radio", "dance"]}, {(("must.dance", None),)}),
    ({"screen_min_in": 7.1}, {(("screen_min_in", Decimal(7)),)}),
    ({"at_rest_ma": 4.9}, {(("at_rest_ma", Decimal(5)),)}),
    (
        {"at_rest_ma": 4.9, "budget": 20},
        {(("at_rest_ma", Decimal(5)), ("budget", Decimal(300)))},
    ),
    ({"screen_min_in": 9, "must": ["dance"]}, {(("must.dance", None), ("screen_min_in", Decimal(7)))}),
]


@pytest.mark.parametrize(("limits", "changes"), TOLD)
def test_limits_give_no_more_than_they_have_to(store: Store, limits: Row, changes: set[Any]) -> None:
    settled = town(store)
    _, found = told(settled, stated(settled.job(job(limits=limits)), settled.catalog))
    kept = [one for one in found if not any(change.limit.startswith("choose.") for change in one.changes)]
    assert {tuple((change.limit, change.value) for change in one.changes) for one in kept} == changes


def test_alteration_gives_at_the_opening_that_needs_it_by_the_least_step(store: Store) -> None:
    """The loudspeaker's bolts fall beside the existing ones: new holes there, nothing anywhere else."""
    settled = store.lay_town(
        [head_unit(amp_channels=4, amp_w=40, amp_min_ohm=4, standby_ma=1), speaker(bolt_circle_mm=165)],
        [dash_opening(), speaker_opening()],
    )
    _, found = told(settled, stated(settled.job(job()), settled.catalog))
    assert RelaxedLimit("per_opening.door", "drilled") in [change for one in found for change in one.changes]


def test_sets_that_help_have_a_member_in_every_conflict() -> None:
    a, b, c, d = "abcd"
    sets = helping_sets([a, b, c, d], [frozenset({a, b}), frozenset({b, c})])
    assert sets == [frozenset({b}), frozenset({a, c})]
    assert helping_sets([a], []) == []
