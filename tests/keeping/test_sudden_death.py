"""Commands killed at random moments: a short run of `tests/bench/sudden_death.py`."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.acts import ACTS, DEMO
from tests.bench.sudden_death import sudden_death
from tests.factories import every_command
from tests.soak import first


@pytest.fixture(autouse=True)
def stores_stay_open() -> None:
    """Close stores after each use: forked processes use them."""


@pytest.mark.parametrize("kills", first(1, [len(ACTS), 300]))
def test_answered_changes_survive_a_kill_and_others_are_absent(tmp_path: Path, kills: int) -> None:
    pages = kills // 15
    tally = sudden_death(tmp_path, kills, pages, seed=1)
    assert tally.broken == []
    assert (tally.kills, set(tally.acts) >= {act.name for act in ACTS}) == (kills + pages, True)
    assert tally.answered + tally.kept + tally.absent == tally.kills


READS = {
    *(
        "catalog attached",
        "catalog diff",
        "catalog history",
        "catalog show",
        "catalog suppliers",
        "choice",
        "fit",
        "job show",
        "limits",
    ),
    *("log", "measure", "options", "reading list", "rules", "store check", "vehicle show", "why"),
    *("calc box", "calc coils", "calc exposure", "calc film", "calc fit", "calc gain", "calc supply", "calc wire"),
}
"""Commands that write nothing."""
PAGE = {"serve"}
"""Killed while a form is sent to it."""
CHAIN = {"store join", "store leave"}
"""They ask a server: `test_chain.py` kills them."""


def test_every_command_that_writes_is_killed() -> None:
    killed = {act.name for act in (*ACTS, DEMO)}
    assert killed | PAGE | CHAIN | READS == {name for name, _ in every_command()}
    assert not killed & READS
