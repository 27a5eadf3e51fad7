"""Leaving out what is always beaten: on no feed does it change the k best."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from matcher.search.bass.groups import unbeaten

DOUBT = -1
LEVELS = st.sampled_from([None, 0, 1, 2, 3, 3])


@st.composite
def systems(draw: st.DrawFn) -> list[Any]:
    """Some systems of one net with few prices, points and levels, so that ties and near misses are common."""
    return [
        SimpleNamespace(
            cents=draw(st.integers(0, 2)),
            points=draw(st.integers(0, 1)),
            at_1w_cdb=draw(LEVELS),
            travel_cdb=draw(LEVELS),
            unsure=draw(st.booleans()),
            name=(str(number),),
        )
        for number in range(draw(st.integers(2, 6)))
    ]


def score(one: Any, gain: int, doubtful: bool) -> int:
    """Points on a feed of this gain: a level under 0 earns none, nor does an unknown one."""
    known = one.at_1w_cdb is not None and one.travel_cdb is not None
    level = max(min(one.at_1w_cdb + gain, one.travel_cdb), 0) if known else 0
    return int(one.points + level + (DOUBT if doubtful and not one.unsure else 0))


@settings(max_examples=400)
@given(systems(), st.integers(1, 2), st.integers(0, 2), st.booleans(), st.booleans(), st.integers(1, 2))
def test_the_best_on_any_feed_stay(
    some: list[Any], k: int, gain: int, doubtful: bool, sure_only: bool, budget: int
) -> None:
    def best(them: list[Any]) -> list[Any]:
        within = [one for one in them if one.cents <= budget and not (sure_only and one.unsure)]
        return sorted(within, key=lambda one: (-score(one, gain, doubtful), one.cents, one.name))[:k]

    assert best(unbeaten(some, k, DOUBT)) == best(some)
