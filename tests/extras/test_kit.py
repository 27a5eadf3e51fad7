"""The kit: every item that a main part takes, its quantity and size, and what it costs if no list has it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.answers import KitLine, Package
from catalog_schema.jobs import Job
from matcher.answers.messages_kit import kit_says
from matcher.commands.show_options import show_options
from matcher.search.catalog.kit import KitNeed, amplifier_needs, head_needs, place_wire, speaker_needs
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import (
    Row,
    amp_spot,
    amplifier,
    dash_opening,
    head_unit,
    job,
    part,
    speaker,
    speaker_opening,
    vehicle,
)
from tests.search.shops import SUPPLY, Settled, Store

D = Decimal
RADIO = head_unit(screen="none", preouts=4, preout_v=2, amp_channels=0, standby_ma=1, price=100)
AMPLIFIER = amplifier(
    full_w_4ohm=40, input_min_v=1, input_max_v=4, high_level_in=False, standby_ma=1, current_a=30, fuse_a=30, price=200
)
LOUDSPEAKER = speaker(sens_db=88, sens_basis="1w", price=50)
CAR = [dash_opening(), speaker_opening(), amp_spot(run_m=4, signal_m=4)]
RUNS = {"battery_to_cargo_m": 6}


@pytest.fixture
def store() -> Iterator[Store]:
    """A store in memory."""
    made = Store()
    yield made
    made.con.close()


def item(kind: str, price: float = 1, **changes: Any) -> Row:
    """An installation part by the piece."""
    return part("install", part_id=changes.pop("part_id", f"{kind}-1"), kind=kind, unit="piece", price=price, **changes)


def package(
    store: Store, *parts: Row, car: list[Row] | None = None, asked: Job | None = None, **settings: str
) -> Package:
    """The best package of a job with a radio, an amplifier and a place."""
    own = {one["part_id"] for one in parts}
    parts = (*(one for one in (RADIO, AMPLIFIER, LOUDSPEAKER) if one["part_id"] not in own), *parts)
    store.clear()
    for name, value in settings.items():
        store.set(name, value)
    openings = CAR if car is None else car
    supply = SUPPLY | {"system_v": 12, "ground": "negative"}
    store.lay(*parts, vehicle(*openings, electrical=supply, runs=RUNS))
    Settled(store, list(parts), openings, "negative").job(asked or job())
    return store.options("j1").packages[0]


def of_kind(found: Package, kind: str) -> list[KitLine]:
    return [line for line in found.kit if line.kind == kind]


FIGURES: dict[str, Any] = {
    "full_channels": 4,
    "full_w_4ohm": D(50),
    "bass_channels": 0,
    "bass_w_1ohm": None,
    "bass_w_2ohm": None,
    "bass_w_4ohm": None,
    "full_bridged_w_4ohm": D(150),
}
DRAW = D(30), D("7.4")
"""Fuse and least area of copper."""


@pytest.mark.parametrize(
    ("cable_mm2", "run_m", "area"), [(None, 5, 10), (D(10), 5, 10), (D(16), 5, 16), (None, None, 10)]
)
def test_ground_is_as_thick_as_the_supply(cable_mm2: D | None, run_m: D | None, area: int) -> None:
    needs = amplifier_needs(
        FIGURES, *DRAW, run_m, cable_mm2, DEFAULT_SETTINGS, bass=False, has_cable=cable_mm2 is not None
    )
    assert [need.size for need in needs if need.kind in ("ground_lead", "cable")] == [area] * (2 - bool(cable_mm2))


AMPLIFIERS: list[tuple[str, dict[str, Any], bool, list[tuple[str, str]]]] = [
    # expected: signal leads in m over a way of 2 m, and wire to the bass
    ("four channels", {}, False, [("signal_lead", "4.4")]),
    ("mono", {"full_channels": 0, "bass_channels": 1}, False, [("signal_lead", "2.2")]),
    ("four and one", {"bass_channels": 1}, False, [("signal_lead", "6.6")]),
    ("playing bass", {}, True, [("signal_lead", "4.4"), ("speaker_wire", "1.7")]),
]


@pytest.mark.parametrize(
    ("figures", "bass", "wires"), [one[1:] for one in AMPLIFIERS], ids=[one[0] for one in AMPLIFIERS]
)
def test_wires_of_an_amplifier(figures: dict[str, Any], bass: bool, wires: list[tuple[str, str]]) -> None:
    needs = amplifier_needs(
        FIGURES | figures, *DRAW, D(5), None, DEFAULT_SETTINGS, bass=bass, has_cable=False, signal_m=D(2)
    )
    assert [(one.kind, str(one.quantity)) for one in needs if one.kind in ("signal_lead", "speaker_wire")] == wires
    assert ("strap" in {one.kind for one in needs}) is bass
    assert [one for one in needs if one.kind == "cable"] == [KitNeed("cable", D("5.5"), D(10))]


def test_amplifier_of_which_nothing_is_known_takes_every_item_all_the_same() -> None:
    needs = amplifier_needs(
        dict.fromkeys(FIGURES), None, None, None, None, DEFAULT_SETTINGS, bass=False, has_cable=False
    )
    assert {one.kind: one.size for one in needs if one.kind in ("fuse", "cable", "ground_lead")} == dict.fromkeys(
        ("cable", "fuse", "ground_lead")
    )
    assert next(one.quantity for one in needs if one.kind == "remote_wire") == D("6.6"), "the shop's estimate and 10 %"


@pytest.mark.parametrize(
    ("ground", "run_m", "kind", "quantity", "estimated"),
    [
        ("body", 5, "ground_lead", "0.6", False),
        (None, 5, "ground_lead", "0.6", True),
        ("cable", 5, "ground_cable", "5.5", False),
        ("cable", None, "ground_cable", "6.6", True),
    ],
)
def test_ground_goes_to_the_body_or_back_to_the_battery(
    ground: str | None, run_m: int | None, kind: str, quantity: str, estimated: bool
) -> None:
    run = None if run_m is None else D(run_m)
    needs = amplifier_needs(FIGURES, *DRAW, run, D(10), DEFAULT_SETTINGS, bass=False, has_cable=True, ground=ground)
    found = [(one.kind, str(one.quantity), one.estimated) for one in needs if one.kind.startswith("ground")]
    assert found == [(kind, quantity, estimated)]


# wire to each loudspeaker in m and their number: m in all, mm2 for a loss of 5 % in 2 ohm, and whether it is estimated
@pytest.mark.parametrize(
    ("opening", "expected"),
    [
        ({"wire_m": D("2.5"), "count": 2}, ("5.5", D("1.0"), False)),
        ({"wire_m": D(5), "count": 1}, ("5.5", D("2.5"), False)),
        ({"count": 2}, ("8.8", D("1.5"), True)),
    ],
)
def test_wire_to_a_place_by_its_own_way(opening: dict[str, Any], expected: tuple[str, D, bool]) -> None:
    need = place_wire(opening, DEFAULT_SETTINGS)
    assert (str(need.quantity), need.size, need.estimated) == expected


@pytest.mark.parametrize(("keys", "wheel"), [(True, 1), (False, 0), (None, 0)])
def test_wheel_interface_if_the_car_has_keys_on_its_wheel(keys: bool | None, wheel: int) -> None:
    kinds = [one.kind for one in head_needs({"keys_on_wheel": keys})]
    assert kinds == ["harness", "antenna_adapter", *["wheel_interface"] * wheel]


@pytest.mark.parametrize(
    ("opening", "damping", "sealing"),
    [
        ({"count": 2, "behind": "moving_glass"}, "1.0", "2"),
        ({"count": 1, "behind": "fixed"}, None, "1"),
        ({}, None, "2"),
    ],
)
def test_doors_are_damped_and_every_loudspeaker_is_sealed(
    opening: dict[str, Any], damping: str | None, sealing: str
) -> None:
    found = {one.kind: str(one.quantity) for one in speaker_needs(opening, DEFAULT_SETTINGS)}
    assert (found.get("damping"), found["sealing"]) == (damping, sealing)


SIZES: list[tuple[str, list[Row], str | None]] = [
    ("just this rating", [item("fuse", rated_a=30)], "fuse-1"),
    ("a larger fuse is none", [item("fuse", rated_a=40)], None),
    ("rating not known", [item("fuse")], None),
    ("not in any list", [], None),
    ("cheapest of two", [item("fuse", 3, rated_a=30), item("fuse", 2, rated_a=30, part_id="b")], "b"),
    ("sold by the meter", [item("fuse", rated_a=30) | {"unit": "m"}], None),
]


@pytest.mark.parametrize(("parts", "part_id"), [one[1:] for one in SIZES], ids=[one[0] for one in SIZES])
def test_fuse_of_the_catalog(store: Store, parts: list[Row], part_id: str | None) -> None:
    (line,) = of_kind(package(store, *parts), "fuse")
    assert (line.size, line.part_id, line.priced) == (30, part_id, part_id is not None)


@pytest.mark.parametrize(
    ("rated_a", "part_id"), [(30, "fuse_holder-1"), (60, "fuse_holder-1"), (25, None), (None, None)]
)
def test_holder_takes_the_fuse(store: Store, rated_a: int | None, part_id: str | None) -> None:
    (line,) = of_kind(package(store, item("fuse_holder", rated_a=rated_a)), "fuse_holder")
    assert line.part_id == part_id


def test_leads_are_not_joined(store: Store) -> None:
    """Two pairs over 4.4 m: two leads of 5 m, not one of 10 m cut in two; a lead of 4 m does not reach."""
    lead = item("signal_lead", 10, pack_of=5) | {"unit": "m"}
    (line,) = of_kind(package(store, lead), "signal_lead")
    assert (line.part_id, line.packs, line.price) == ("signal_lead-1", 2, 20)
    (line,) = of_kind(package(store, lead | {"pack_of": 4}), "signal_lead")
    assert (line.part_id, line.priced) == (None, False)


def test_run_of_the_spot_counts_before_that_to_the_cargo_space(store: Store) -> None:
    assert of_kind(package(store), "cable")[0].quantity == D("4.4")
    spot = [dash_opening(), speaker_opening(), amp_spot()]
    assert of_kind(package(store, car=spot), "cable")[0].quantity == D("6.6")


def test_price_of_the_kit_is_in_the_total(store: Store) -> None:
    found = package(store, item("fuse", 4, rated_a=30), item("harness", 15))
    assert found.price.kit == sum(line.price for line in found.kit) == 19
    assert found.price.total == found.price.parts + found.price.labour + 19
    assert found.price.from_, "the other items are in no list"


def test_open_price_counts_with_the_estimate_or_as_the_dearest_of_its_kind(store: Store) -> None:
    holder = item("fuse_holder", 9, rated_a=20)
    (line,) = of_kind(package(store, holder), "fuse_holder")
    assert (line.priced, line.price) == (False, 9)
    (line,) = of_kind(package(store, holder, **{"kit_price.fuse_holder": "24"}), "fuse_holder")
    assert (line.priced, line.price) == (False, 24)


def test_package_is_no_cheaper_because_no_list_has_its_cable(store: Store) -> None:
    """A needed cable that no list had made a package cheaper than one with a cable of the list."""
    thick = part("cable", part_id="thick", area_mm2=10, length_m=5, price=40)
    thin = part("cable", part_id="thin", area_mm2=2, length_m=5, price=8)
    listed, missing = package(store, thick, thin), package(store, thin)
    assert [line.part_id for line in listed.lines if line.slot == "cable"] == ["thick"]
    (line,) = of_kind(missing, "cable")
    assert (line.priced, line.size, line.quantity) == (False, 6, D("4.4"))
    assert line.price == D("0.8") * 6 * D("4.4"), "0.8 per mm2 and meter is the dearest of the lists"


def test_every_part_of_the_kit_is_ordered(store: Store) -> None:
    found = package(store, item("fuse", 4, rated_a=30), item("terminal", 5, area_mm2=10, pack_of=4))
    assert {name: packs for name, packs in found.bought().items() if "-1" in name and "fuse" in name} == {"fuse-1": 1}
    assert found.bought()["terminal-1"] == 2, "four at the amplifier, four at the loudspeakers"


@pytest.mark.parametrize(
    ("stock", "lead_days", "listed"), [(5, 9, True), (4, 9, False), (None, 9, False), (0, 3, True), (0, None, True)]
)
def test_wire_is_there_in_time_if_all_its_meters_are(
    store: Store, stock: int | None, lead_days: int | None, listed: bool
) -> None:
    """One meter in stock was in time for the 4.4 m that are needed."""
    wire = item("remote_wire", stock=stock, lead_days=lead_days) | {"unit": "m"}
    (line,) = of_kind(package(store, wire, asked=job(limits={"deliver_within_days": 3})), "remote_wire")
    assert (line.quantity, line.priced) == (D("4.4"), listed)


def test_open_item_in_words(store: Store) -> None:
    (line,) = of_kind(package(store), "fuse")
    assert kit_says(line) == "1 main fuse, 30 A: not in any list, price open"


def test_terminal_shows_the_kit(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    package(store, item("fuse", 4, rated_a=30))
    show_options(store.options("j1"))
    printed = capsys.readouterr().out
    assert "kit: 1 fuse holder, 30 A: not in any list, price open" in printed
    assert "kit: 1 main fuse" not in printed and "from " in printed
    show_options(store.options("j1"), full=True)
    assert "kit: 1 main fuse, 30 A: fuse-1" in capsys.readouterr().out
