"""The exact ranking against plain enumeration: slots of whole numbers and names, nothing of the trade."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matcher.search.exact.entries import Entry, ListSlot, undominated
from matcher.search.exact.packages import Bounds, Core
from matcher.search.exact.patience import Patience
from matcher.search.exact.ranking import Ranking

Package = tuple[int, int, tuple[str, ...]]


def enumerated(cores: list[Core], bounds: Bounds, k: int) -> list[Package]:
    """Every package of every core, one by one; of one name the best."""
    best: dict[tuple[str, ...], Package] = {}
    for core in cores:
        for taken in product(*(slot.entries for slot in core.slots)):
            words = [word for entry in taken for word in entry.name]
            name = tuple(words[position] for position in core.arrangement)
            points = core.points + sum(entry.points for entry in taken)
            cents = sum(entry.cents for entry in taken)
            used = [sum(amounts) for amounts in zip(*(entry.uses for entry in taken), strict=True)]
            dear = bounds.cents is not None and cents > bounds.cents
            if dear or any(most is not None and use > most for use, most in zip(used, bounds.uses, strict=True)):
                continue
            found = (-points, cents, name)
            best[name] = min(found, best.get(name, found))
    return [(-points, cents, name) for points, cents, name in sorted(best.values())[:k]]


@st.composite
def slots(draw: st.DrawFn, letter: str) -> ListSlot:
    """One slot: few values, so that ties are everywhere; each name once, in the total order."""
    names = draw(st.lists(st.sampled_from("abcdef"), min_size=0 if draw(st.booleans()) else 1, max_size=5, unique=True))
    made = [
        Entry(
            points=draw(st.integers(-3, 6)),
            cents=draw(st.sampled_from([0, 1, 1, 2, 5, 40])),
            uses=(draw(st.sampled_from([0, 0, 1, 3])), draw(st.integers(0, 1))),
            name=(letter + name, ""),
            what=None,
        )
        for name in names
    ]
    return ListSlot(sorted(made, key=lambda entry: entry.order))


@st.composite
def core_lists(draw: st.DrawFn) -> list[Core]:
    """Cores of the same width, whose names are told in orders of their own, so that twins are common."""
    width = draw(st.integers(1, 3))
    made = []
    for rank in range(draw(st.integers(1, 3))):
        order = draw(st.permutations(range(width)))
        shown = tuple(draw(slots("xyz"[place])) for place in order)
        arrangement = tuple(2 * order.index(place) + word for place in range(width) for word in (0, 1))
        made.append(Core(draw(st.sampled_from([0, 0, -2, 4])), shown, rank, arrangement, None))
    return made


BOUNDS = st.builds(
    Bounds,
    cents=st.none() | st.integers(0, 12),
    uses=st.tuples(st.none() | st.integers(0, 5), st.none() | st.integers(0, 2)),
)


@settings(max_examples=250, deadline=None)
@given(core_lists(), BOUNDS, st.integers(1, 6))
def test_same_packages_in_the_same_order_as_one_by_one(cores: list[Core], bounds: Bounds, k: int) -> None:
    found = Ranking(cores).best(bounds, k)
    assert [(one.points, one.cents, one.name) for one in found] == enumerated(cores, bounds, k)


@settings(max_examples=120, deadline=None)
@given(core_lists(), BOUNDS, st.integers(1, 4))
def test_what_is_dominated_is_in_no_best_package(cores: list[Core], bounds: Bounds, k: int) -> None:
    thinned = [
        Core(
            core.points,
            tuple(ListSlot(undominated(slot.entries, k)) for slot in core.slots),
            core.rank,
            core.arrangement,
            None,
        )
        for core in cores
    ]
    assert enumerated(thinned, bounds, k) == enumerated(cores, bounds, k)


@settings(max_examples=60, deadline=None)
@given(core_lists(), st.lists(BOUNDS, min_size=2, max_size=3))
def test_one_ranking_answers_under_one_set_of_limits_after_another(cores: list[Core], asked: list[Bounds]) -> None:
    ranking = Ranking(cores)
    for bounds in asked:
        found = ranking.best(bounds, 2)
        assert [(one.points, one.cents, one.name) for one in found] == enumerated(cores, bounds, 2)


@settings(max_examples=250, deadline=None)
@given(core_lists(), BOUNDS, st.integers(1, 4), st.integers(0, 12))
def test_what_a_search_that_ended_early_left_out_is_within_its_bound(
    cores: list[Core], bounds: Bounds, k: int, most: int
) -> None:
    ranking = Ranking(cores, Patience(most_entries=most))
    got = [(one.points, one.cents, one.name) for one in ranking.best(bounds, k)]
    every = enumerated(cores, bounds, 1000)
    assert set(got) <= {(points, cents, name) for points, cents, name in every} or ranking.missed is not None
    if ranking.missed is None:
        assert got == every[:k]
    else:
        assert all(points <= ranking.missed for points, _, name in every[:k] if name not in {one[2] for one in got})


def test_a_search_whose_time_is_up_says_what_it_may_miss() -> None:
    ranking = Ranking([core([entry("a", 5, 10)]), core([entry("b", 9, 10)])], Patience(until=0))
    assert ranking.best(Bounds(None, (None,)), 1) == []
    assert ranking.missed == 9


def test_a_search_with_enough_of_both_misses_nothing() -> None:
    ranking = Ranking([core([entry("a", 5, 10)]), core([entry("b", 9, 10)])], Patience.of(1000, 1000))
    assert [one.name[0] for one in ranking.best(Bounds(None, (None,)), 3)] == ["b", "a"]
    assert ranking.missed is None


def bundled(cores: list[Core], **opened: Callable[[], list[Core]]) -> Core:
    """A bundle whose own slots hold what any of its cores holds."""
    width = max(len(one.slots) for one in cores)
    held = sorted((e for one in cores for slot in one.slots for e in slot.entries), key=lambda e: e.order)
    return Core(max(one.points for one in cores), (ListSlot(held),) * width, 0, (), None, **opened)


def bundles_of(cores: list[Core], inner: int) -> tuple[list[Core], list[Core]]:
    """Bundles of so many cores each, and the same bundles in two bundles of bundles."""
    some = [cores[at : at + inner] for at in range(0, len(cores), inner)]
    bundles = [bundled(each, inside=partial(list, each)) for each in some]
    return bundles, [bundled(each, bundles=partial(list, each)) for each in (bundles[::2], bundles[1::2]) if each]


@settings(max_examples=200, deadline=None)
@given(core_lists(), BOUNDS, st.integers(1, 4), st.integers(1, 2))
def test_bundles_and_bundles_of_bundles_give_the_same_packages(
    cores: list[Core], bounds: Bounds, k: int, inner: int
) -> None:
    plain = [one.order for one in Ranking(cores).best(bounds, k)]
    for some in bundles_of(cores, inner):
        assert [one.order for one in Ranking(some).best(bounds, k)] == plain
        met = Ranking.any_package(some, bounds)
        assert (met is None) == (not plain)


@settings(max_examples=200, deadline=None)
@given(core_lists(), BOUNDS, st.integers(-10, 20), st.integers(1, 2))
def test_bundles_of_bundles_ask_of_each_slot_what_their_bundles_do(
    cores: list[Core], bounds: Bounds, least: int, inner: int
) -> None:
    by_one, by_two = map(Ranking, bundles_of(cores, inner))
    assert dict(by_two.needed(bounds, least)) == dict(by_one.needed(bounds, least))
    assert by_two.highest(bounds) == by_one.highest(bounds)


def entry(name: str, points: int, cents: int, use: int = 0) -> Entry:
    return Entry(points, cents, (use,), (name, ""), None)


def core(*slots: list[Entry], points: int = 0, rank: int = 0) -> Core:
    return Core(points, tuple(map(ListSlot, slots)), rank, tuple(range(2 * len(slots))), None)


# entries of one slot, budget, most use, then the names of the best three in their order
TABLE = [
    ([entry("a", 5, 10), entry("b", 4, 1)], None, None, "ab"),
    ([entry("a", 5, 10), entry("b", 4, 1)], 10, None, "ab"),  # exactly on the budget
    ([entry("a", 5, 10), entry("b", 4, 1)], 9, None, "b"),
    ([entry("a", 5, 10), entry("b", 4, 1)], 0, None, ""),
    ([entry("a", 5, 10, 3), entry("b", 4, 1)], None, 3, "ab"),  # exactly on the limit
    ([entry("a", 5, 10, 3), entry("b", 4, 1)], None, 2, "b"),
    ([entry("b", 5, 9), entry("a", 5, 10)], None, None, "ba"),  # of equal scores the cheaper
    ([entry("a", 5, 9), entry("b", 5, 9)], None, None, "ab"),  # of equal prices by name
]


@pytest.mark.parametrize(("entries", "budget", "most", "names"), TABLE)
def test_limits_and_ties(entries: list[Entry], budget: int | None, most: int | None, names: str) -> None:
    found = Ranking([core(entries)]).best(Bounds(budget, (most,)), 3)
    assert "".join(one.name[0] for one in found) == names


def test_of_twins_the_better_counts_and_of_equal_ones_the_plainer_plan() -> None:
    part = [entry("a", 5, 10)]
    weak, strong, plain = core(part, rank=0), core(part, points=1, rank=2), core(part, points=1, rank=1)
    (found,) = Ranking([weak, strong, plain]).best(Bounds(None, (None,)), 3)
    assert (found.points, found.core.rank) == (6, 1)


def test_places_two_to_k_are_kept_though_others_beat_them() -> None:
    entries = [entry("a", 9, 1), entry("b", 8, 2), entry("c", 7, 3)]
    assert [len(undominated(entries, k)) for k in (1, 2, 3)] == [1, 2, 3]
