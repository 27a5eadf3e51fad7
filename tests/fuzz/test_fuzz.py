"""A few inputs at every way in; `tests/bench/reliability.py` throws thousands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.partial import PAPERS
from tests.fuzz.targets import TARGETS, Target, throw

FEW = {"figures": 400, "maps": 100, "lists": 6, "lists' files": 10, "vehicles": 8, "jobs": 8, "readings": 12}


@pytest.mark.parametrize("target", TARGETS, ids=lambda target: target.name)
def test_it_is_taken_or_refused(target: Target, tmp_path: Path) -> None:
    assert throw(target, tmp_path, FEW[target.name]).tried >= FEW[target.name] // 2


def test_every_car_that_can_be_saved_can_be_printed(tmp_path: Path) -> None:
    assert throw(PAPERS, tmp_path, 5).taken >= 2
