"""Inputs at every way in, drawn by chance: a few on every run, thousands in a soak (`pytest -m soak tests/fuzz`)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz import reloads
from tests.fuzz.partial import PAPERS
from tests.fuzz.reloads import try_reloads
from tests.fuzz.supplied import compare_lists
from tests.fuzz.targets import TARGETS, Target, throw
from tests.soak import first

COUNTS = {
    "figures": (300, 5_000),
    "maps": (50, 1_500),
    "lists": (4, 60),
    "lists' files": (6, 250),
    "vehicles": (8, 250),
    "jobs": (8, 250),
    "readings": (8, 250),
    "papers": (3, 60),
}
"""By target: how many inputs on every run, and in a soak."""
THROWN = [(target, COUNTS[target.name][at]) for at in (0, 1) for target in (*TARGETS, PAPERS)]


@pytest.mark.parametrize("some", first(len(COUNTS), THROWN), ids=lambda some: f"{some[1]} {some[0].name}")
def test_an_input_is_taken_or_refused_with_a_fix(some: tuple[Target, int], tmp_path: Path) -> None:
    target, count = some
    thrown = throw(target, tmp_path, count)
    assert thrown.tried >= count // 2
    assert target is not PAPERS or thrown.taken >= 1


@pytest.mark.parametrize("count", first(1, [8, 300]))
def test_a_suppliers_list_brings_in_the_figures_it_was_written_from(count: int, tmp_path: Path) -> None:
    found = compare_lists(tmp_path, count, seed=1)
    assert (found.lists, found.wrong) == (count, [])
    assert found.right > 0


@pytest.mark.parametrize("count", first(1, [2, 60]))
def test_a_catalog_holds_what_was_loaded_mended_and_measured(count: int, tmp_path: Path) -> None:
    tally = try_reloads(tmp_path, count, seed=7, steps=10)
    assert (tally.sequences, tally.wrong) == (count, [])
    assert tally.compared > 0


def test_a_wrong_figure_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the rows that stand over a list, a mended row is undone by the next load."""
    twice = [("1", "A", "99.00", "5"), ("1", "A", "359.90", "5")]
    monkeypatch.setattr("matcher.store.catalog.versions.set_mended_aside", lambda con, family: 0)
    monkeypatch.setattr(reloads.Sequence, "changed", lambda self, rows: twice)
    sequence = reloads.Sequence(tmp_path, 1, reloads.Tally())
    for way in (sequence.load, sequence.mend, sequence.load):
        sequence.chance.seed(3)
        way()
    sequence.compare()
    assert sequence.tally.wrong
