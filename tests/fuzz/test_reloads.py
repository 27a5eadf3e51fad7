"""A few sequences of loads; `tests/bench/reliability.py` tries many."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz import reloads
from tests.fuzz.reloads import try_reloads


def test_a_catalog_holds_what_was_loaded_mended_and_measured(tmp_path: Path) -> None:
    tally = try_reloads(tmp_path, 2, seed=7, steps=10)
    assert (tally.sequences, tally.wrong) == (2, [])
    assert tally.compared > 0


def test_a_wrong_figure_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the rows that stand over a list, a mended row is undone by the next load."""
    monkeypatch.setattr("matcher.store.catalog.versions.set_mended_aside", lambda con, family: 0)
    monkeypatch.setattr(reloads.Sequence, "changed", lambda self, rows: TWICE)
    sequence = reloads.Sequence(tmp_path, 1, reloads.Tally())
    for way in (sequence.load, sequence.mend, sequence.load):
        sequence.chance.seed(3)
        way()
    sequence.compare()
    assert sequence.tally.wrong


TWICE = [("1", "A", "99.00", "5"), ("1", "A", "359.90", "5")]
