"""Power of a block at every load, and the figures that it waits for."""

from __future__ import annotations

from decimal import Decimal

import pytest

from matcher.formulas.block import block_power_w
from matcher.formulas.box import closed_box
from matcher.search.bass.figures import BassFigures, coil_nets_of
from matcher.search.bass.levels import Boxed, levels_of, number, terms_of
from matcher.search.feeds.links import power_wants
from matcher.search.feeds.parts import AmplifierSignature, SpeakerSignature

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


ROW = {"fs_hz": 30, "qts": 0.45, "qes": 0.5, "vas_l": 40, "sd_cm2": 330, "xmax_mm": 10}

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
    row = {name: None if figure is None else Decimal(str(figure)) for name, figure in (ROW | change).items()}
    boxed = Boxed(kind, None if net is None else Decimal(net), None if tuned is None else Decimal(tuned))
    at_1w, travel = levels_of(terms_of(row), drivers, boxed)
    closed = None
    if kind == "sealed":
        closed = closed_box(*(number(row[name]) for name in ("fs_hz", "qts", "vas_l")), net, drivers)
    most = BassFigures(drivers, kind, boxed.net_l, closed, boxed.tuned_hz, terms_of(row)).level(100, 40)
    told = None if most is None or most.level_db is None else most.level_db
    ranked = None if at_1w is None or travel is None else min(at_1w + 2000, travel) / 100
    assert ranked == (None if told is None else pytest.approx(told, abs=0.011))
