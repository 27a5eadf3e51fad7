"""Figures in every format, unit and notation: none is taken as another."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from catalog_schema.notation import split_amounts
from tests.fuzz.written_figures import WAYS, Compared, Hand
from tests.soak import first


@pytest.mark.parametrize("times", first(1, [1, 4]))
@pytest.mark.parametrize("name", WAYS)
def test_no_figure_is_taken_as_another(tmp_path: Path, name: str, times: int) -> None:
    trial = WAYS[name](tmp_path, times * (250 if name == "rows of lists" else 1500), 1)
    assert trial.wrong == []
    assert trial.tried - trial.refused > 0


def test_a_trial_counts_what_is_wrong() -> None:
    trial = Compared()
    trial.count("1.500", Decimal(1500), Decimal("1.5"))
    trial.count("1.500", Decimal(1500), None)
    assert (trial.tried, trial.refused, len(trial.wrong)) == (2, 1, 1)


@pytest.mark.parametrize(
    ("hand", "number", "text"),
    [
        (Hand("comma", ".", 2), "1234.5", "1.234,50"),
        (Hand("point", ",", None), "1500", "1,500"),
        (Hand("comma", "", 3), "1.5", "1,500"),
    ],
)
def test_hands_write_as_people_do(hand: Hand, number: str, text: str) -> None:
    assert hand.write(Decimal(number)) == text


def test_tiers_of_one_box_are_never_cut_within_an_amount() -> None:
    assert split_amounts("700, 1.000, 1.500") == ["700", "1.000", "1.500"]
