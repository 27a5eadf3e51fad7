"""Greatest level of a bass system against Small's displacement limit and plain sums."""

from __future__ import annotations

import pytest

from matcher.formulas.box import closed_box
from matcher.formulas.output import (
    VentedSystem,
    closed_max_level,
    displacement_l,
    power_level_db,
    travel_level_db,
    vented_max_level,
)

BOX = closed_box(28, 0.35, 90, 30)
VENTED = VentedSystem(28, 0.35, 90, 60, 35)


@pytest.mark.parametrize(("freq", "level"), [(20, 100.56), (30, 107.60), (50, 116.48), (100, 128.52)])
def test_level_of_1_l_peak(freq: float, level: float) -> None:
    # Monopole in half space at 1 m, 1.20 kg/m3.
    assert travel_level_db(1.0, freq) == pytest.approx(level, abs=5e-3)


@pytest.mark.parametrize(("drivers", "liters"), [(1, 0.5), (2, 1.0), (4, 2.0)])
def test_displacement(drivers: int, liters: float) -> None:
    assert displacement_l(500, 10, drivers) == pytest.approx(liters)


@pytest.mark.parametrize(("power", "xmax", "ruled_by"), [(10, 10, "power"), (500, 10, "travel"), (500, 40, "power")])
def test_which_limit_rules_a_closed_box(power: float, xmax: float, ruled_by: str) -> None:
    most = closed_max_level(40, BOX, 87, power, 500, xmax)
    assert most is not None
    assert most.power_db is not None
    assert most.travel_db is not None
    assert most.level_db == min(most.power_db, most.travel_db)
    assert most.ruled_by == ruled_by


def test_a_closed_box_by_hand() -> None:
    # fc 56 Hz, Qtc 0.7: at 56 Hz the response is 20 lg 0.7 = -3.10 dB, so 87 + 20 - 3.10 = 103.90 dB on
    # 100 W; 0.5 L peak at 56 Hz is 116.48 - 6.02 + 40 lg(56/50) = 112.43 dB.
    most = closed_max_level(56, BOX, 87, 100, 500, 10)
    assert most is not None
    assert most.power_db == pytest.approx(103.90, abs=5e-3)
    assert most.travel_db == pytest.approx(112.43, abs=0.01)
    assert most.ruled_by == "power"


@pytest.mark.parametrize(
    ("sens", "power", "sd", "xmax", "known"),
    [(None, 100, 500, 10, "travel_db"), (87, None, 500, 10, "travel_db"), (87, 100, 500, None, "power_db")],
)
def test_one_unknown_limit_leaves_the_level_unknown_and_the_other_known(
    sens: float | None, power: float | None, sd: float, xmax: float | None, known: str
) -> None:
    for most in (closed_max_level(40, BOX, sens, power, sd, xmax), vented_max_level(50, VENTED, sens, power, sd, xmax)):
        assert most is not None
        assert most.level_db is None
        assert most.ruled_by is None
        assert getattr(most, known) is not None


# f/fb and what a leakage with a Q of 7 leaves of the cone's own limit, from a nodal circuit of the box.
@pytest.mark.parametrize(("x", "gain"), [(0.5, -9.58), (0.8, 4.58), (1.0, 16.90), (1.25, 8.46), (2.0, 2.46)])
def test_travel_limit_of_a_vented_box_with_losses(x: float, gain: float) -> None:
    most, alone = vented_max_level(35 * x, VENTED, 87, 500, 500, 10), travel_level_db(0.5, 35 * x)
    assert most is not None
    assert most.travel_db == pytest.approx((alone or 0) + gain, abs=6e-3)


@pytest.mark.parametrize(
    "answer",
    [
        *[displacement_l(500, None), displacement_l(500, 10, 9), travel_level_db(None, 50)],
        *[power_level_db(87, 100, None), power_level_db(87, 0, 0)],
        closed_max_level(None, BOX, 87, 100, 500, 10),
        vented_max_level(0, VENTED, 87, 100, 500, 10),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None


def test_without_a_box_the_travel_limit_alone_is_known() -> None:
    most = closed_max_level(40, None, 87, 100, 500, 10)
    assert most is not None
    assert (most.power_db, most.level_db) == (None, None)
    assert most.travel_db is not None
