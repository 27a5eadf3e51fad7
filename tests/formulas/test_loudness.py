"""Sensitivity and sums of sources against plain arithmetic and Small's constant."""

from __future__ import annotations

import pytest

from matcher.formulas.air import Air
from matcher.formulas.loudness import sens_of_efficiency_db, sum_incoherent_db


def test_a_pair_is_3_db_louder() -> None:
    assert sum_incoherent_db([90, 90]) == pytest.approx(93.010, abs=1e-3)


# Small 1972 and 1973 take 345 m/s and 1.18 kg/m3.
@pytest.mark.parametrize(
    ("air", "level"), [(Air(345, 1.18), 112.09), (Air(343, 1.20), 112.14), (Air(343.2, 1.204), 112.16)]
)
def test_the_constant_by_the_air_that_is_taken(air: Air, level: float) -> None:
    assert sens_of_efficiency_db(1.0, air=air) == pytest.approx(level, abs=5.1e-3)


@pytest.mark.parametrize(
    "answer",
    [
        *[sum_incoherent_db([]), sum_incoherent_db([90, None]), sum_incoherent_db([None, None])],
        *[sens_of_efficiency_db(1.1), sens_of_efficiency_db(0)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
