"""Power of a block at every load, and the figures that it waits for."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from matcher.formulas.block import block_power_w
from matcher.search.bass.levels import BoxTerms, DriverTerms, levels_of
from matcher.search.bass.nets import coil_nets_of
from matcher.search.bass.systems import BassFigures, number
from matcher.search.feeds.links import power_wants
from matcher.search.feeds.parts import AmplifierSignature, SpeakerSignature
from matcher.search.scoring import NOT_KNOWN

# load, power into 4, 2 and 1 ohm, power
TABLE = [
    (8, 200, 350, 500, 100),
    (4, 200, 350, 500, 200),
    (3, 200, 350, 500, "266.666667"),
    (3, 200, 250, 500, 250),
    (2, 200, 350, 500, 350),
    (2, None, 350, None, 350),
    ("1.6", 200, 350, 500, "437.5"),
    ("1.6", 200, 350, 400, 400),
    ("1.6", 200, 350, None, None),
    (1, 200, 350, 500, 500),
    ("0.5", 200, 350, 500, None),
    (3, 200, None, 500, None),
]


@pytest.mark.parametrize(("load", "w_4", "w_2", "w_1", "power"), TABLE)
def test_power_into_a_load(
    load: str | int, w_4: int | None, w_2: int | None, w_1: int | None, power: str | int | None
) -> None:
    rated = [None if each is None else Decimal(each) for each in (w_4, w_2, w_1)]
    got = block_power_w(Decimal(load), *rated)
    assert (None if got is None else round(got, 6)) == (None if power is None else Decimal(power))


@pytest.mark.parametrize(
    ("load", "wanted"),
    [
        (8, ["bass_w_4ohm"]),
        (4, ["bass_w_4ohm"]),
        (3, ["bass_w_4ohm", "bass_w_2ohm"]),
        (2, ["bass_w_2ohm"]),
        ("1.5", ["bass_w_2ohm", "bass_w_1ohm"]),
        (1, ["bass_w_1ohm"]),
        (None, ["bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm"]),
    ],
)
def test_the_powers_that_a_load_waits_for(load: str | int | None, wanted: list[str]) -> None:
    bare = AmplifierSignature(0, None, None, None, None, None, None, None, None, bass_channels=1)
    assert power_wants(bare, "bass", None if load is None else Decimal(load)) == wanted


@pytest.mark.parametrize(
    ("drivers", "coils", "loads"),
    [
        (1, 1, ["4"]),
        (1, 2, ["2", "8"]),
        (1, 4, ["1", "4", "16"]),
        (2, 1, ["2", "8"]),
        (2, 2, ["1", "4", "16"]),
        (4, 1, ["1", "4", "16"]),
        (2, 4, []),
    ],
)
def test_one_net_for_each_load(drivers: int, coils: int, loads: list[str]) -> None:
    nets = coil_nets_of(drivers, SpeakerSignature(Decimal(4), coils, Decimal(200)))
    assert [net.load_ohm for net in nets] == [Decimal(load) for load in loads]


ROW: dict[str, object] = {"fs_hz": 30, "qts": 0.45, "qes": 0.5, "vas_l": 40, "sd_cm2": 330, "xmax_mm": 10}

# change of the driver, kind, net volume, tuning
SYSTEMS: list[tuple[dict[str, object], str | None, int | None, int | None]] = [
    ({}, "sealed", 30, None),
    ({"xmax_mm": None}, "sealed", 30, None),
    ({"qes": None}, "sealed", 30, None),
    ({"vas_l": None}, "sealed", 30, None),
    ({}, "sealed", None, None),
    ({}, "vented", 40, 35),
    ({}, "vented", 40, 40),
    ({}, "vented", 40, None),
    ({}, None, 40, 35),
]


@pytest.mark.parametrize("drivers", [1, 2])
@pytest.mark.parametrize(("change", "kind", "net", "tuned"), SYSTEMS)
def test_the_level_that_ranks_is_the_level_that_is_told(
    change: dict[str, object], kind: str | None, net: int | None, tuned: int | None, drivers: int
) -> None:
    row = [number(None if figure is None else Decimal(str(figure))) for figure in (ROW | change).values()]
    figures = BassFigures(drivers, kind, figure_of(net), figure_of(tuned), *row)
    box = BoxTerms(*(np.array([kind == word]) for word in ("sealed", "vented")), array(net), array(tuned))
    (at_1w,), (travel,) = levels_of(DriverTerms(*map(array, row)), drivers, box)
    most = figures.level(100, 40)
    told = None if most is None or most.level_db is None else most.level_db
    ranked = None if NOT_KNOWN in (at_1w, travel) else min(int(at_1w[0]) + 2000, int(travel[0])) / 100
    assert ranked == (None if told is None else pytest.approx(told, abs=0.011))


def figure_of(number: int | None) -> Decimal | None:
    return None if number is None else Decimal(number)


def array(number: float | None) -> np.ndarray:
    return np.array([np.nan if number is None else number], np.float64)
