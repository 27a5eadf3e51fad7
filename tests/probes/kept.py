"""Probes with factory equipment that stays: what it gives and takes is known, or is to be measured."""

from __future__ import annotations

from decimal import Decimal

from matcher.store.readings.readings import add_fitted
from tests.factories import amp_spot, dash_opening, part, speaker_opening
from tests.probes.probe import AMPLIFIER, COAXIAL, Probe, options, parts_at
from tests.search.shops import Store

KEPT_RADIO = dash_opening(original={"preouts": 0, "amp_channels": 4, "amp_w": 12, "amp_min_ohm": 4})
CONVERTER = part(
    "accessory",
    part_id="converter",
    kind="line_output_converter",
    needs=["speaker_output"],
    gives=["line_4v"],
    standby_ma=1,
    price=50,
)
DEAF_RADIO = dash_opening(original={"preouts": 4, "preout_v": 2, "amp_channels": 0})
FACTORY_AMPLIFIER = amp_spot(
    original={"full_channels": 4, "full_w_4ohm": 35, "full_min_ohm": 4, "input_min_v": 1, "input_max_v": 4}
)
DOOR = {"choose": ["door"], "keep": ["dash"], "wishes": {"loudness": 5, "price": 1}}


def _radio_without_line_outputs(store: Store) -> None:
    told = options(store, CONVERTER, car=[KEPT_RADIO, speaker_opening(), amp_spot()], **DOOR)
    assert (told.packages[0].verdict, told.packages[0].links[0].from_) == ("fits", "amplifier-1")
    assert "converter" in [line.part_id for line in told.packages[0].lines]
    assert options(store, car=[KEPT_RADIO, speaker_opening(), amp_spot()], **DOOR).packages == []


def _radio_that_nobody_measured(store: Store) -> None:
    told = options(store, car=[dash_opening(), speaker_opening(), amp_spot()], **DOOR)
    assert told.packages[0].verdict == "measure"
    assert all(name.startswith("opening:tern/dash.original_") for name in told.packages[0].measure)


def _factory_amplifier(store: Store) -> None:
    told = options(store, car=[DEAF_RADIO, speaker_opening(), FACTORY_AMPLIFIER], **DOOR | {"keep": ["dash", "seat"]})
    (link,) = told.packages[0].links
    assert (link.from_, link.power_w, told.packages[0].verdict) == ("the original amplifier", 35, "fits")
    assert [line.part_id for line in told.packages[0].lines if line.price] == ["coaxial"]


def _loudspeakers_too_weak_for_the_amplifier(store: Store) -> None:
    weak = speaker_opening(opening_id="rear", position="rear", factory_ohm=4, original={"rms_w": 15, "sens_db": 88})
    keep = DOOR | {"keep": ["dash", "rear"]}
    told = options(store, CONVERTER, car=[KEPT_RADIO, speaker_opening(), weak, amp_spot()], **keep)
    feeds = {link.to[0]: link.from_ for link in told.packages[0].links}
    assert feeds == {"door": "amplifier-1", "rear": "the original head unit"}
    (line,) = (line for line in told.packages[0].lines if line.opening_id == "rear")
    assert line.level_db == Decimal("95.78"), "88 dB at 2.83 V into 4 ohm is 84.99 at 1 W; 12 W are 10.79 more"


def _amplifier_of_the_customer_before(store: Store) -> None:
    own = [{"part_id": AMPLIFIER["part_id"]}]
    car = [KEPT_RADIO, speaker_opening(), amp_spot()]
    mine = options(store, CONVERTER, car=car, owned=own, **DOOR).packages[0]
    next_one = options(store, CONVERTER, car=car, **DOOR).packages[0]
    assert [line.is_owned for one in (mine, next_one) for line in one.lines if line.slot == "amplifier"] == [
        True,
        False,
    ]
    assert (AMPLIFIER["part_id"] in mine.bought(), AMPLIFIER["part_id"] in next_one.bought()) == (False, True)
    assert next_one.price.parts - mine.price.parts == AMPLIFIER["price"]


def _fitted_before(store: Store) -> None:
    dark = COAXIAL | {"depth_mm": None}
    deep = COAXIAL | {"part_id": "deep", "depth_mm": 80, "price": 1}
    first = options(store, dark, deep, choose=["head_unit", "door"]).packages[0]
    assert (parts_at(first, "door"), first.verdict) == (["coaxial"], "measure")
    for part_id in ("coaxial", "deep"):
        add_fitted(store.con, part_id, "tern/door", None, by="Ada")
    again = store.options("j1", top=5).packages
    assert (parts_at(again[0], "door"), again[0].verdict) == (["coaxial"], "fits")
    assert not any(parts_at(one, "door") == ["deep"] for one in again)


PROBES = [
    Probe(
        "kept radio without line outputs",
        "the original radio stays, and the amplifier takes line level alone",
        "a line output converter goes between; without one there is no package, as the radio alone is too weak",
        _radio_without_line_outputs,
    ),
    Probe(
        "kept radio that nobody measured",
        "the original radio stays, and none of its figures is known",
        "to be measured first, each figure named at its opening",
        _radio_that_nobody_measured,
    ),
    Probe(
        "factory amplifier",
        "the original radio has no channels of its own; a factory amplifier is under the seat",
        "the factory amplifier feeds the new loudspeakers, and no other is bought",
        _factory_amplifier,
    ),
    Probe(
        "weak original loudspeakers",
        "original loudspeakers of 15 W stay beside an amplifier of 40 W",
        "the radio feeds them, the amplifier the new ones alone; their level is told",
        _loudspeakers_too_weak_for_the_amplifier,
    ),
    Probe(
        "amplifier of the customer before",
        "one customer brings an amplifier that a list holds, too; the next one does not",
        "the first pays nothing for it and it is not ordered; the next one pays its price",
        _amplifier_of_the_customer_before,
    ),
    Probe(
        "fitted before",
        "two loudspeakers were fitted before: nobody states the depth of one, the other is too deep for the door",
        "the first fits by that evidence; the second stays refused",
        _fitted_before,
    ),
]
