"""A few guided inputs; `tests/bench/reliability.py` throws thousands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.guided import WAYS, Reached, WayIn, guide
from tests.fuzz.targets import Counter, take_map

FEW = {"maps": 80, "vehicles": 4, "jobs": 6}


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.name)
def test_what_comes_to_a_new_place_is_kept(way: WayIn, tmp_path: Path) -> None:
    found = guide(way, tmp_path, FEW[way.name], seed=1)
    assert found.tried == FEW[way.name]
    assert found.kept > 0
    assert found.guided > found.by_seeds


def test_what_is_refused_elsewhere_comes_to_other_places(tmp_path: Path) -> None:
    counter, reached = Counter(tmp_path), []
    for text in ("[]", '{"name": "m", "columns": {}, "more": 1}'):
        with Reached() as one:
            take_map(counter, text)
        reached.append(one.places)
    counter.con.close()
    assert reached[0] != reached[1]
