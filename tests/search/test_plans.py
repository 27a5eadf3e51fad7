"""Plans: every way to feed some places, each once."""

from __future__ import annotations

import pytest

from matcher.search.feeds.plans import Fed, Plan, every_plan

DOORS, SHELF, CENTER, REAR = Fed("doors", 2), Fed("shelf", 2), Fed("center", 1), Fed("rear", 2)


def told(plan: Plan) -> str:
    """A plan in short: ``doors:h2`` is a pair of the head unit's channels for the doors."""
    sign = {"pair": "", "bridged": "b", "shared": "s"}
    return " ".join(
        f"{'+'.join(feed.openings)}:{feed.source[0]}{sign[feed.mode]}{feed.channels}" for feed in plan.feeds
    )


# places, with an amplifier or not, every plan
TABLE = [
    ([], False, [""]),
    ([], True, [""]),
    ([DOORS], False, ["doors:h2"]),
    ([DOORS], True, ["doors:h2", "doors:a2", "doors:ab4"]),
    ([CENTER], True, ["center:h2", "center:a2", "center:ab2"]),
    ([DOORS, SHELF], False, ["doors:h2 shelf:h2", "doors+shelf:hs2"]),
]


@pytest.mark.parametrize(("places", "with_amplifier", "plans"), TABLE)
def test_every_plan_plain_ones_first(places: list[Fed], with_amplifier: bool, plans: list[str]) -> None:
    assert [told(plan) for plan in every_plan(places, with_amplifier)] == plans


# n places: each alone in three ways, or two of them together in two
@pytest.mark.parametrize(
    ("places", "count"),
    [
        ([DOORS, SHELF], 3 * 3 + 2),
        ([DOORS, SHELF, CENTER], 3**3 + 3 * 2 * 3),
        ([DOORS, SHELF, CENTER, REAR], 3**4 + 6 * 2 * 9 + 3 * 4),
    ],
)
def test_how_many_and_each_once(places: list[Fed], count: int) -> None:
    plans = every_plan(places, with_amplifier=True)
    assert len(plans) == len(set(plans)) == count
    for plan in plans:
        assert sorted(name for feed in plan.feeds for name in feed.openings) == sorted(
            place.opening_id for place in places
        )


def test_channels_are_counted_by_source() -> None:
    plan = next(plan for plan in every_plan([DOORS, SHELF], True) if told(plan) == "doors:h2 shelf:ab4")
    assert (plan.channels("head_unit"), plan.channels("amplifier"), plan.amplified) == (2, 4, True)
