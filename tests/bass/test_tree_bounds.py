"""The tree of a job with bass: no union bounds an alternative too low, however deep it is opened."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import numpy as np
import pytest

from matcher.search.exact.choices import IMPOSSIBLE, Part, Union, sum_of
from matcher.search.ranking import tree_of
from tests.bass.towns import gather, lay_job, lay_town
from tests.factories import Bench

OPENED = 12
"""So many alternatives of each union are opened, drawn at random."""


def check_bounds(draw: Random, parts: Sequence[Part]) -> int:
    """Open alternatives all the way down; return how many were opened."""
    opened = 0
    for part in (one for one in parts if isinstance(one, Union)):
        some = np.flatnonzero(part.values[:, 0] > IMPOSSIBLE // 2).tolist()
        for at in draw.sample(some, min(OPENED, len(some))):
            points, inside = part.make(at)
            values, cents, uses = sum_of(inside, points)
            assert (part.values[at] >= values).all(), part.make
            assert part.cents[at] <= cents, part.make
            assert part.uses is None or (part.uses[at] <= uses).all(), part.make
            opened += 1 + check_bounds(draw, inside)
    return opened


@pytest.mark.parametrize("seed", [12, 29])
def test_no_union_bounds_an_alternative_too_low(bench: Bench, seed: int) -> None:
    lay_town(bench, seed, 2)
    opened = 0
    for number in range(3):
        field = gather(bench, lay_job(bench, 100 * seed + number), 10)
        opened += check_bounds(Random(seed), tree_of(field).job.root())
        check_bounds(Random(seed), tree_of(field, sure=True).job.root())
    assert opened > 20
