"""Ranked enumeration against plain enumeration: random trees of slots and unions, nothing of the trade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, product
from random import Random

import numpy as np
import pytest

from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.choices import (
    NO_USES,
    SCALE,
    Part,
    Slot,
    Union,
    relaxed,
    sum_of,
    union_of,
)
from matcher.search.exact.enumeration import Name, Ranking, SumLimits, Taken

Found = tuple[int, int, Name]
One = tuple[int, Taken]


@dataclass
class Tree:
    """A list of parts, and every combination that it stands for."""

    parts: list[Part]
    every: list[One]


def named(taken: Taken) -> Name:
    return tuple(sorted(f"{slot.tag}{slot_id(slot, at)}" for slot, at in taken))


def slot_id(slot: Slot, at: int) -> str:
    return f"{slot.tag}:{(at + len(slot.tag)) % 3}"  # entries of one name are common


def random_slot(random: Random, tag: str) -> Slot:
    """Few distinct values, so that ties are everywhere."""
    many, grain = random.randint(0 if random.random() < 0.1 else 1, 4), random.choice([1, 3, 50])
    points = np.array([random.randint(-20, 60) // grain * grain for _ in range(many)], dtype=np.int64)
    cents = np.array([random.randint(0, 40) // grain * grain for _ in range(many)], dtype=np.int64)
    uses = np.array([[random.randint(0, 5), random.randint(0, 5), 0] for _ in range(many)], dtype=np.int64)
    return Slot(points, cents, None if random.random() < 0.4 else uses.reshape(many, 3), tag, random.randint(0, 1))


def random_tree(random: Random, depth: int, tags: Sequence[str]) -> Tree | None:
    """None where it stands for too many combinations."""
    parts: list[Part] = []
    every: list[One] = [(0, ())]
    for tag in tags:
        if depth and random.random() < 0.6:
            made = random_union(random, depth, tag)
            if made is None:
                return None
            union, here = made
            parts.append(union)
        else:
            slot = random_slot(random, tag)
            parts.append(slot)
            here = [(int(points), ((slot, at),)) for at, points in enumerate(slot.points)]
        if len(every) * len(here) > 800:
            return None
        every = [(points + more, taken + added) for points, taken in every for more, added in here]
    return Tree(parts, every)


def random_union(random: Random, depth: int, tag: str) -> tuple[Union, list[One]] | None:
    """A union of one to three alternatives, bounded as closely as can be or more loosely."""
    inside = [
        random_tree(random, depth - 1, [f"{tag}{at}" for at in range(random.choice([1, 1, 2]))])
        for _ in range(random.randint(1, 3))
    ]
    trees = [tree for tree in inside if tree is not None]
    if len(trees) < len(inside):
        return None
    own = [random.randint(-5, 5) for _ in trees]
    alternatives = [(points, tree.parts) for points, tree in zip(own, trees, strict=True)]
    exact = union_of(alternatives)
    slack = np.array([[random.choice([0, 0, 7])] for _ in trees])
    union = Union(exact.values + slack, exact.cents, exact.uses, alternatives.__getitem__)
    return union, [
        (points + more, taken) for points, tree in zip(own, trees, strict=True) for more, taken in tree.every
    ]


def random_limits(random: Random) -> SumLimits:
    drain, current = (random.choice([None, random.randint(0, 12)]) for _ in range(2))
    return SumLimits(random.choice([None, random.randint(0, 120)]), (drain, current, None))


def sums_of(taken: Taken) -> list[int]:
    """Money and uses of a combination."""
    uses = sum((NO_USES if slot.uses is None else slot.uses[at] for slot, at in taken), NO_USES)
    return [sum(int(slot.cents[at]) for slot, at in taken), *uses.tolist()]


def enumerated(tree: Tree, limits: SumLimits) -> list[Found]:
    """Every combination within limits, one by one; of one name the best."""
    best: dict[Name, Found] = {}
    for points, taken in tree.every:
        cents, *uses = sums_of(taken)
        if limits.holds(cents, uses):
            name = named(taken)
            found = (-points, cents, name)
            best[name] = min(found, best.get(name, found))
    return [(-points, cents, name) for points, cents, name in sorted(best.values())]


def ranked(ranking: Ranking) -> list[Found]:
    return [(one.points, one.cents, one.name) for one in ranking]


def trees(seeds: range) -> list[tuple[int, Random, Tree]]:
    found = []
    for seed in seeds:
        random = Random(seed)
        tree = random_tree(random, 2, ["a", "b", "c"][: random.randint(1, 3)])
        if tree is not None:
            found.append((seed, random, tree))
    return found


@pytest.mark.parametrize("least", range(3))
@pytest.mark.parametrize("seed", range(60))
def test_the_least_of_a_sum_is_that_of_plain_enumeration(seed: int, least: int) -> None:
    random = Random(seed)
    tree = next(tree for _ in range(100) if (tree := random_tree(random, 2, "abc")) is not None)
    limits = random_limits(random)
    found = next(iter(Ranking(0, tree.parts, limits, named, least=least)), None)
    sums = [sums_of(taken) for _, taken in tree.every]
    want = min((each[least] for each in sums if limits.holds(each[0], each[1:])), default=None)
    assert (None if found is None else (found.cents, *found.uses)[least]) == want


@pytest.mark.parametrize("block", range(4))
def test_yields_every_combination_in_the_total_order(block: int) -> None:
    for seed, random, tree in trees(range(60 * block, 60 * block + 60)):
        limits = random_limits(random)
        assert ranked(Ranking(0, tree.parts, limits, named)) == enumerated(tree, limits), f"seed {seed}"


def test_ranks_one_tree_under_several_limits() -> None:
    for seed, random, tree in trees(range(5000, 5040)):
        for _ in range(3):
            limits = random_limits(random)
            assert ranked(Ranking(0, tree.parts, limits, named)) == enumerated(tree, limits), f"seed {seed}"


def test_a_search_ended_early_bounds_what_it_missed() -> None:
    for seed, random, tree in trees(range(6000, 6080)):
        limits, budget = random_limits(random), SearchBudget(most_bytes=random.randint(0, 400))
        ranking = Ranking(0, tree.parts, limits, named, budget=budget)
        got, every = ranked(ranking), enumerated(tree, limits)
        assert got == every[: len(got)], f"seed {seed}"
        if ranking.missed is None:
            assert len(got) == len(every), f"seed {seed}"
        else:
            assert all(points <= ranking.missed for points, _, _ in every[len(got) :]), f"seed {seed}"


def check_bounds(parts: Sequence[Part]) -> None:
    """Every union's bounds are true of each of its alternatives, all the way down."""
    for part in (one for one in parts if isinstance(one, Union)):
        for at in range(len(part.cents)):
            points, inside = part.make(at)
            values, cents, uses = sum_of(inside, points)
            assert (part.values[at] >= values).all()
            assert part.cents[at] <= cents
            assert part.uses is None or (part.uses[at] <= uses).all()
            check_bounds(inside)


def test_a_union_of_made_alternatives_is_bounded_truly() -> None:
    for _, _, tree in trees(range(7000, 7030)):
        check_bounds(tree.parts)


def whole(*numbers: int) -> np.ndarray:
    return np.array(numbers, dtype=np.int64)


def test_ties_go_by_money_then_by_name_then_by_preference() -> None:
    slot = Slot(whole(5, 5, 5, 5), whole(9, 8, 8, 8), None, "x")
    names = ["a", "c", "b", "b"]
    ranking = Ranking(
        0, [slot], SumLimits(), lambda taken: (names[taken[0][1]],), preference=lambda taken: (-taken[0][1],)
    )
    assert [(one.name, one.taken[0][1]) for one in ranking] == [(("b",), 3), (("c",), 1), (("a",), 0)]


def test_money_exactly_at_the_limit_is_within_it() -> None:
    slots = [Slot(whole(1), whole(7), None, "x"), Slot(whole(1), whole(5), whole(3, 0, 0).reshape(1, 3), "y")]
    assert ranked(Ranking(0, slots, SumLimits(12, (3, None, None)), named))
    assert not ranked(Ranking(0, slots, SumLimits(11, (3, None, None)), named))
    assert not ranked(Ranking(0, slots, SumLimits(12, (2, None, None)), named))


@pytest.mark.parametrize("many", [1, 63, 64, 65, 200])
def test_slots_longer_than_a_chunk_lose_nothing(many: int) -> None:
    slot = Slot(np.arange(many) % 7, np.arange(many), None, "x")
    other = Slot(whole(0, 3), whole(0, 50), None, "y")
    found = ranked(Ranking(0, [slot, other], SumLimits(120), lambda taken: (f"{taken[0][1]:04}", str(taken[1][1]))))
    assert len(found) == len(set(found)) == sum(at + more <= 120 for at, more in product(range(many), (0, 50)))
    assert found == sorted(found, key=lambda one: (-one[0], one[1], one[2]))


def test_the_next_combination_costs_no_new_search() -> None:
    slots = [Slot(np.arange(50), np.zeros(50, dtype=np.int64), None, tag) for tag in "abcdef"]
    ranking = iter(Ranking(0, slots, SumLimits(), named))
    assert [one.points for one in islice(ranking, 4)] == [294, 293, 293, 293]
    assert next(ranking).points == 293


def test_relaxed_values_are_points_less_money_and_uses() -> None:
    (values,) = relaxed(whole(10), whole(3), whole(2, 5, 0).reshape(1, 3))
    assert values[0] == SCALE * 10
    assert values.min() == SCALE * 10 - 3 * 8 - 256 * (2 + 5)


def test_of_ties_in_points_only_the_cheapest_is_opened() -> None:
    """A wish for a low price of 0 left thousands of packages with equal points, and each was opened for the first."""
    cents = np.arange(40)
    slots = [Slot(np.zeros(40, np.int64), cents, None, tag) for tag in "abc"]
    opened: list[Taken] = []

    def counted(taken: Taken) -> Name:
        opened.append(taken)
        return named(taken)

    first = next(iter(Ranking(0, slots, SumLimits(), counted)))
    assert (first.points, first.cents, len(opened)) == (0, 0, 1)
