"""Leaving out what is always dominated: on no feed, and within no budget, does it change the k best."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray

from matcher.search.fits.mounted import MOST_RIVALS, Merits, dominated_by
from matcher.search.options import rank
from tests.search.shops import Settled, Store, drawn_job, every_package
from tests.soak import first

DOUBT = -2


@dataclass(frozen=True)
class Part:
    """A row that is held against others."""

    name: str
    kind: str | None
    cents: int
    earned: int
    level: int | None
    draw: int
    dark: bool


def kept(parts: list[Part], k: int) -> set[str]:
    """The names that stay."""
    kinds, names = (sorted({str(getattr(one, field)) for one in parts}) for field in ("kind", "name"))

    def column(cells: Iterable[int]) -> NDArray[np.int64]:
        return np.array(list(cells), np.int64)

    merits = Merits(
        group=column(kinds.index(str(one.kind)) for one in parts),
        part=np.arange(len(parts)),
        points=column(one.earned for one in parts),
        cents=column(one.cents for one in parts),
        open=np.array([one.dark for one in parts], np.bool_),
        name=column(names.index(one.name) for one in parts),
        high=column(-1 if one.level is None else one.level for one in parts),
        low=column(one.draw for one in parts),
        lost=np.array([DOUBT if one.dark else 0 for one in parts]),
    )
    return {one.name for one, beaten in zip(parts, dominated_by(merits, k).tolist(), strict=True) if beaten < k}


A = Part("a", "x", 10, 5, 3, 1, False)


@pytest.mark.parametrize(
    ("b", "k", "stays"),
    [
        (Part("b", "x", 10, 5, 3, 1, False), 1, False),  # a tie in everything: the first by name stays
        (Part("b", "x", 10, 5, 3, 1, False), 2, True),  # among two best both stand
        (Part("b", "x", 11, 5, 3, 1, False), 1, False),  # dearer alone
        (Part("b", "x", 9, 5, 3, 1, False), 1, True),  # cheaper alone
        (Part("b", "x", 10, 6, 3, 1, False), 1, True),  # a point more
        (Part("b", "x", 10, 5, 4, 1, False), 1, True),  # louder
        (Part("b", "x", 11, 5, 3, 0, False), 1, True),  # draws less
        (Part("b", "x", 10, 5, None, 1, False), 1, False),  # no level earns nothing
        (Part("b", "y", 11, 4, 2, 2, False), 1, True),  # another kind is another matter
        (Part("b", None, 11, 4, 2, 2, False), 1, True),
        (
            Part("b", "x", 11, 3, 3, 1, True),
            1,
            False,
        ),  # unsure: on a doubtful feed it has as many points as the sure one
        (Part("b", "x", 11, 4, 3, 1, True), 1, True),  # and here one more
    ],
)
def test_a_part_stays_where_it_may_be_the_best_somewhere(b: Part, k: int, stays: bool) -> None:
    assert ("b" in kept([A, b], k)) is stays


def test_what_is_unsure_never_beats_what_is_sure() -> None:
    assert kept([Part("a", "x", 1, 99, 9, 0, True), A], 1) == {"a"} | {A.name}
    assert "z" in kept([Part("a", "x", 1, 99, 9, 0, True), Part("z", "x", 10, 5, 3, 1, False)], 1)


def test_beyond_some_number_of_packages_nothing_is_left_out() -> None:
    parts = [Part(f"{number:03}", "x", number, 0, 0, 0, False) for number in range(3 * MOST_RIVALS)]
    assert len(kept(parts, MOST_RIVALS)) == MOST_RIVALS
    assert len(kept(parts, MOST_RIVALS + 1)) == len(parts)


def score(one: Part, gain: int, doubtful: bool) -> int:
    """Points on a feed of this gain: a level under nought earns none, nor does an unknown one."""
    level = 0 if one.level is None else max(one.level + gain, 0)
    return one.earned + level + (DOUBT if doubtful and not one.dark else 0)


@pytest.mark.parametrize("seed", first(4, range(25)))
def test_the_best_on_any_feed_within_any_limits_stay(seed: int) -> None:
    draw = Random(seed)
    parts = [
        Part(
            name=f"{number:03}",
            kind=draw.choice(["x", "y", None]),
            cents=draw.randint(0, 6),
            earned=draw.randint(0, 4),
            level=draw.choice([None, 0, 1, 2, 3]),
            draw=draw.randint(0, 2),
            dark=draw.random() < 0.4,
        )
        for number in range(60)
    ]
    for k in (1, 2, 4):
        left = kept(parts, k)
        for gain, doubtful, sure, cents, most in [
            (draw.randint(-2, 2), draw.random() < 0.5, draw.random() < 0.3, draw.randint(0, 6), draw.randint(0, 2))
            for _ in range(40)
        ]:
            for kind in ("x", "y", None):

                def best(names: set[str]) -> list[str]:
                    some = [
                        one
                        for one in parts
                        if one.name in names and one.kind == kind and one.cents <= cents  # noqa: B023
                        if one.draw <= most and not (sure and one.dark)  # noqa: B023
                    ]
                    order = sorted(some, key=lambda one: (-score(one, gain, doubtful), one.cents, one.name))  # noqa: B023
                    return [one.name for one in order][:k]  # noqa: B023

                assert best(left) == best({one.name for one in parts}), (seed, k, gain, doubtful, sure, cents, most)


def crowded(store: Store, seed: int) -> Settled:
    """A town with many parts that are one to any feed, at few prices."""
    settled = store.settle(seed)
    draw = Random(seed)
    more = []
    for row in settled.parts:
        for number in range(draw.choice([0, 0, 2, 4])):
            changes = {"part_id": f"{row['part_id']}-{number}", "price": draw.choice([20, 30, 30, 45.55])}
            if row["family"] == "speaker":
                changes |= {"sens_db": draw.choice([None, 88, 90, 91.5]), "low_hz": draw.choice([None, 50, 60])}
            if row["family"] == "head_unit":
                changes |= {"standby_ma": draw.choice([None, 1, 5])}
            more.append(row | changes)
    return store.lay_town([*settled.parts, *more], settled.openings, ground=settled.ground)


@pytest.mark.parametrize("seed", first(2, range(200, 206)))
def test_the_best_of_a_crowded_shop_are_those_of_all_its_parts(store: Store, seed: int) -> None:
    settled = crowded(store, seed)
    draw = Random(seed)
    for number in range(3):
        job = settled.job(drawn_job(draw, ["bolt_on", "drilled", "metal_cut"], job_id=f"j{number}"))
        everything = rank(settled.catalog, job, MOST_RIVALS + 1)
        for top in (1, 4):
            got = rank(settled.catalog, job, top)
            found, every = every_package(got, top), every_package(everything, top)
            assert [one.order for one in found] == [one.order for one in every], (seed, job)
            assert (got.sure and got.sure.order) == (everything.sure and everything.sure.order)
            assert got.considered == everything.considered
