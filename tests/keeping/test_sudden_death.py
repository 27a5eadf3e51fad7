"""Commands killed at random moments: a short run of `tests/bench/sudden_death.py`."""

from __future__ import annotations

from pathlib import Path

from tests.bench.sudden_death import ACTS, sudden_death


def test_what_was_answered_is_there_and_the_rest_is_absent(tmp_path: Path) -> None:
    tally = sudden_death(tmp_path, kills=len(ACTS) + 4, pages=2, seed=1, check_each=6)
    assert tally.broken == []
    assert (tally.kills, set(tally.acts) >= {act.name for act in ACTS}) == (len(ACTS) + 6, True)
    assert tally.answered + tally.kept + tally.absent == tally.kills
