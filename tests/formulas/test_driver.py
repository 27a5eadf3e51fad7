"""Driver parameters against an outside example that was worked from its own formulas."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.air import Air
from matcher.formulas.box import closed_fc_hz, closed_volume_l
from matcher.formulas.driver import (
    DriverParameters,
    cone_area_cm2,
    driver_parameters,
    efficiency_bandwidth_hz,
    mechanical_q,
    motor_efficiency,
    peak_impedance_ohm,
    reference_efficiency,
    total_q,
    vas_l,
)
from matcher.formulas.loudness import sens_2v83_db, sens_of_efficiency_db


@pytest.fixture
def example() -> DriverParameters:
    """A finite-element vendor's lumped driver, in air of 343 m/s and 1.2 kg/m3."""
    parameters = driver_parameters(33.4, 1.18e-3, 1.85, 11.4, 7.0, 120, air=Air(343, 1.2))
    assert parameters is not None
    return parameters


@pytest.mark.parametrize(
    ("name", "value"),
    [
        *[("sd_cm2", 452.39), ("mms_g", 44.459), ("fs_hz", 21.973), ("qes", 0.33062), ("qms", 3.3179)],
        *[("qts", 0.30066), ("vas_l", 340.94), ("efficiency", 0.010703)],
    ],
)
def test_parameters_of_the_example(example: DriverParameters, name: str, value: float) -> None:
    assert getattr(example, name) == pytest.approx(value, rel=2e-4)


def test_sensitivity_of_the_example(example: DriverParameters) -> None:
    sens = sens_of_efficiency_db(example.efficiency, air=Air(343, 1.2))
    assert sens == pytest.approx(92.44, abs=0.01)
    assert sens_2v83_db(sens, "1w", 7.0) == pytest.approx(93.02, abs=0.01)


def test_closed_box_for_the_example(example: DriverParameters) -> None:
    net = closed_volume_l(example.qts, example.vas_l, math.sqrt(0.5))
    assert net == pytest.approx(75.24, rel=2e-3)
    assert closed_fc_hz(example.fs_hz, example.vas_l, net) == pytest.approx(51.68, rel=2e-3)


def test_both_ways_to_the_efficiency_agree(example: DriverParameters) -> None:
    motor = motor_efficiency(11.4, example.sd_cm2, example.mms_g, 7.0)
    assert motor == pytest.approx(example.efficiency, rel=1e-9)


def test_constant_of_the_motor_formula() -> None:
    # Beranek and Mellow 2012: 5.445e-4 m2 s/kg at 25 C, with 1.184 kg/m3 and 346.1 m/s.
    unit = motor_efficiency(1.0, 1e4, 1000.0, 1.0, air=Air(346.1, 1.184))
    assert unit == pytest.approx(5.445e-4, rel=1e-4)


@given(st.floats(0.1, 5), st.floats(0.1, 20))
def test_qs_belong_together(qes: float, qms: float) -> None:
    qts = total_q(qes, qms)
    assert qts is not None
    assert 1 / qts == pytest.approx(1 / qes + 1 / qms)
    assert mechanical_q(qts, qes) == pytest.approx(qms, rel=1e-6)


@pytest.mark.parametrize(("fs", "qes", "product"), [(30, 0.5, 60), (50, 0.4, 125)])
def test_efficiency_bandwidth(fs: float, qes: float, product: float) -> None:
    assert efficiency_bandwidth_hz(fs, qes) == pytest.approx(product)


def test_impedance_at_resonance_is_that_of_the_lumped_circuit(example: DriverParameters) -> None:
    # At resonance the motor sees its own braking over the mechanical loss: Bl^2 / Rms.
    expected = 7.0 + 11.4**2 / 1.85
    assert peak_impedance_ohm(7.0, example.qms, example.qes) == pytest.approx(expected)


@pytest.mark.parametrize(
    "answer",
    [
        *[cone_area_cm2(-1), cone_area_cm2(None), total_q(None, 1), mechanical_q(0.5, 0.5), mechanical_q(0.6, 0.5)],
        *[vas_l(500, None)],
        reference_efficiency(30, 100, 0),
        reference_efficiency(2000, 1000, 0.1),  # over 100 %
        motor_efficiency(1000, 500, 1, 1),  # over 100 %
        motor_efficiency(11, None, 40, 7),
        efficiency_bandwidth_hz(30, None),
        peak_impedance_ohm(None, 1, 1),
        driver_parameters(33.4, None, 1.85, 11.4, 7.0, 120),
        driver_parameters(33.4, 1.18e-3, 1.85, 11.4, 7.0, 0),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
