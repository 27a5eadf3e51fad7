"""Driver parameters against an outside example that was worked from its own formulas."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.air import Air
from matcher.formulas.box import closed_fc_hz, closed_volume_l
from matcher.formulas.driver import reference_efficiency, total_q
from matcher.formulas.loudness import sens_of_efficiency_db

# A finite-element vendor's lumped driver: its own figures, in its own air.
AIR = Air(343, 1.2)
FS_HZ, QES, QMS, QTS, VAS_L, EFFICIENCY = 21.973, 0.33062, 3.3179, 0.30066, 340.94, 0.010703


def test_parameters_of_the_example() -> None:
    assert total_q(QES, QMS) == pytest.approx(QTS, rel=2e-4)
    assert reference_efficiency(FS_HZ, VAS_L, QES, air=AIR) == pytest.approx(EFFICIENCY, rel=4e-4)


def test_sensitivity_of_the_example() -> None:
    assert sens_of_efficiency_db(EFFICIENCY, air=AIR) == pytest.approx(92.44, abs=0.01)


def test_closed_box_for_the_example() -> None:
    net = closed_volume_l(QTS, VAS_L, math.sqrt(0.5))
    assert net == pytest.approx(75.24, rel=2e-3)
    assert closed_fc_hz(FS_HZ, VAS_L, net) == pytest.approx(51.68, rel=2e-3)


@given(st.floats(0.1, 5), st.floats(0.1, 20))
def test_qs_belong_together(qes: float, qms: float) -> None:
    qts = total_q(qes, qms)
    assert qts is not None
    assert 1 / qts == pytest.approx(1 / qes + 1 / qms)


@pytest.mark.parametrize(
    "answer",
    [
        total_q(None, 1),
        reference_efficiency(30, 100, 0),
        reference_efficiency(2000, 1000, 0.1),  # over 100 %
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
