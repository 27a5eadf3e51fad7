"""Power of a block at every load, and the figures that it waits for."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.block import block_power_w
from matcher.search.bass.estimates import estimated
from matcher.search.bass.levels import BASS_HZ, BoxTerms, DriverTerms, Levels, levels_of, spread_share
from matcher.search.bass.nets import coil_nets_of
from matcher.search.bass.systems import BassFigures, DriverFigures, number, quiet_cm2_of
from matcher.search.feeds.links import power_wants
from matcher.search.feeds.parts import AmplifierSignature, SpeakerSignature
from matcher.search.scoring import NOT_KNOWN
from matcher.settings import DEFAULT_SETTINGS, Settings

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

# change of the driver, kind, net volume, tuning, area of the port
SYSTEMS: list[tuple[dict[str, object], str | None, int | None, int | None, int | None]] = [
    ({}, "sealed", 30, None, None),
    ({"xmax_mm": None}, "sealed", 30, None, None),
    ({"qes": None}, "sealed", 30, None, None),
    ({"vas_l": None}, "sealed", 30, None, None),
    ({}, "sealed", None, None, None),
    ({}, "vented", 40, 35, None),
    ({}, "vented", 40, 35, 30),
    ({}, "vented", 40, 40, 300),
    ({}, "vented", 40, None, 80),
    ({"xmax_mm": None}, "vented", 40, 35, 80),
    ({}, None, 40, 35, 80),
]


@pytest.mark.parametrize("drivers", [1, 2])
@pytest.mark.parametrize(("change", "kind", "net", "tuned", "quiet"), SYSTEMS)
def test_the_level_that_ranks_is_the_level_that_is_told(
    change: dict[str, object], kind: str | None, net: int | None, tuned: int | None, quiet: int | None, drivers: int
) -> None:
    row = [number(None if figure is None else Decimal(str(figure))) for figure in (ROW | change).values()]
    figures = BassFigures(drivers, kind, figure_of(net), figure_of(tuned), quiet, DriverFigures(*row))
    box = BoxTerms(*(np.array([kind == word]) for word in ("sealed", "vented")), array(net), array(tuned), array(quiet))
    levels = levels_of(DriverTerms(*map(array, row)), drivers, box, DEFAULT_SETTINGS).take(0, 0)
    told = [figures.level(100, hz, DEFAULT_SETTINGS) for hz in BASS_HZ]
    if not levels.known:
        assert all(each is None or each.level_db is None for each in told)
    else:
        expected = [100 * each.level_db for each in told if each is not None and each.level_db is not None]
        assert levels.on(2000).tolist() == pytest.approx(expected, abs=1.1)


# Level on 1 W at each frequency, at the end of travel, gain, share of the spread, what is off, and the level judged.
JUDGED = [
    ([90, 90, 90, 90, 90], [110] * 5, 10, "0.2", 0, 100.0),
    ([80, 90, 90, 90, 90], [110] * 5, 10, "0.2", 0, 96.0),  # the mean is 98, the spread 10
    ([80, 90, 90, 90, 90], [110] * 5, 10, "0", 0, 98.0),
    ([80, 90, 90, 90, 90], [110] * 5, 10, "0.2", 1, 95.0),
    ([90, 90, 90, 90, 90], [90, 110, 110, 110, 110], 10, "0.2", 0, 96.0),  # the end of travel at one frequency
    ([90, 90, 90, 90, 90], [100, 110, 110, 110, 110], 10, "0.2", 0, 100.0),  # exactly at the end of travel
]


@pytest.mark.parametrize(("at_1w", "travel", "gain", "share", "off", "judged"), JUDGED)
def test_level_that_earns_points(
    at_1w: list[int], travel: list[int], gain: int, share: str, off: int, judged: float
) -> None:
    levels = Levels(*(100 * np.array(each) for each in (at_1w, travel, off)))
    settings = Settings({"bass_spread_share": Decimal(share)})
    assert levels.judged(100 * gain, spread_share(settings)) == 100 * judged


def test_a_level_with_an_unknown_limit_is_judged_as_unknown() -> None:
    levels = Levels(np.full(5, 9000), np.full(5, NOT_KNOWN), np.array(0))
    assert levels.judged(1000, (1, 5)) == NOT_KNOWN


@given(st.lists(st.integers(5000, 12000), min_size=10, max_size=10), st.integers(0, 3000), st.integers(0, 500))
def test_more_power_never_lowers_the_level_that_earns_points(limits: list[int], gain: int, more: int) -> None:
    levels = Levels(np.array(limits[:5]), np.array(limits[5:]), np.array(0))
    share = spread_share(DEFAULT_SETTINGS)
    assert levels.judged(gain + more, share) >= levels.judged(gain, share)


# Size, what is stated, then fs, Qts, Qes, Vas, cone area and travel: as stated, or the shop's defaults.
ESTIMATES: list[tuple[float, dict[str, float], float | None, list[float]]] = [
    (10, {}, None, [32, 0.5, 0.55, 25, 340.71, 8]),
    (12, {"qts": 0.4}, None, [28, 0.4, 0.44, 50, 490.62, 9]),
    (12, {"qes": 0.44}, None, [28, 0.4, 0.44, 50, 490.62, 9]),
    (11.9, {"fs_hz": 30}, None, [30, 0.5, 0.55, 25, 482.48, 8]),  # under 12 in: as of 10 in
    (6.5, {}, None, [38, 0.5, 0.55, 12, 143.95, 6]),
    (18, {}, None, [25, 0.5, 0.55, 120, 1103.90, 10]),
    (10, {"qts": 0.5}, 30.0, [32, 0.5, 0.55, 30 * (1.414**2 - 1), 340.71, 8]),  # its maker's box has a Q of 0.707
    (10, {"qts": 0.8}, 30.0, [32, 0.8, 0.88, 25, 340.71, 8]),  # no closed box gives it a Q of 0.707
]


@pytest.mark.parametrize(("size", "stated", "box_l", "figures"), ESTIMATES)
def test_figures_that_no_list_states_are_estimated(
    size: float, stated: dict[str, float], box_l: float | None, figures: list[float]
) -> None:
    terms = DriverTerms(*(array(stated.get(name)) for name in DriverTerms._fields))
    found = estimated(terms, array(size), array(box_l), DEFAULT_SETTINGS)
    assert [float(each[0]) for each in found] == pytest.approx(figures, abs=0.01)


# Round port, slot, volume, flared ends: area of a straight port that is as quiet, in cm2.
PORTS: list[tuple[float | None, tuple[float | None, float | None], float | None, bool, float | None]] = [
    (100, (None, None), 30, False, 78.54),
    (100, (None, None), 30, True, 3 * 78.54),
    (None, (300, 25), 30, False, 75.0),
    (None, (300, None), 30, False, 60.0),  # unknown: 2 cm2 for each liter
    (None, (None, None), None, False, None),
]


@pytest.mark.parametrize(("round_mm", "slot", "net", "flared", "area"), PORTS)
def test_area_of_a_port(
    round_mm: float | None, slot: tuple[float | None, float | None], net: float | None, flared: bool, area: float | None
) -> None:
    port = [None if each is None else Decimal(str(each)) for each in (round_mm, *slot)]
    found = quiet_cm2_of(port, None if net is None else Decimal(str(net)), flared, DEFAULT_SETTINGS)
    assert found == (None if area is None else pytest.approx(area, abs=0.01))


def figure_of(number: int | None) -> Decimal | None:
    return None if number is None else Decimal(number)


def array(number: float | None) -> np.ndarray:
    return np.array([np.nan if number is None else number], np.float64)
