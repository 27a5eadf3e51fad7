"""A few inputs of every trial; `tests/bench/reliability.py` runs thousands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.trials import TRIALS, Trial

FEW = {"figures": 400, "maps": 100, "lists": 6, "lists' files": 10, "vehicles": 8, "jobs": 8, "readings": 12}
FEW["suppliers' lists"] = 12
FEW["papers of partial vehicles"] = 5
LEAST_TAKEN = {"papers of partial vehicles": 2}


@pytest.mark.parametrize("trial", [trial for trial in TRIALS if trial.name in FEW], ids=lambda trial: trial.name)
def test_its_promise_holds(trial: Trial, tmp_path: Path) -> None:
    outcome = trial.run(tmp_path, FEW[trial.name], 1)
    assert outcome.broken == []
    assert outcome.tried - (outcome.refused or 0) >= LEAST_TAKEN.get(trial.name, 0)
    assert outcome.tried >= FEW[trial.name] // 2


def test_no_two_trials_have_one_name() -> None:
    assert len({trial.name for trial in TRIALS}) == len(TRIALS)
