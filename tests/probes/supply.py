"""Probes with filters that nothing has, and with charging that is not what it seems."""

from __future__ import annotations

from tests.factories import amp_spot, dash_opening, part, speaker_opening
from tests.probes.probe import AMPLIFIER, BASS, BOX, BRIDGED, CARGO, COAXIAL, RADIO, Probe, options, parts_at
from tests.search.shops import Store

CAR = [dash_opening(), speaker_opening(), amp_spot(), CARGO]
DEAF = RADIO | {"amp_channels": 0, "hp_max_hz": 0, "lp_min_hz": 0, "lp_max_hz": 0}
BARE = BRIDGED | {"part_id": "bare", "hp_max_hz": 0, "lp_min_hz": 0, "lp_max_hz": 0}
WITH_BASS = ["head_unit", "door", "bass"]


def _filter_nowhere(store: Store) -> None:
    in_line = part("install", part_id="line", kind="filter", price=30)
    held = BRIDGED | {"part_id": "held", "price": BARE["price"] + 59}
    told = options(store, DEAF, BARE, held, COAXIAL, BASS, BOX, in_line, car=CAR, choose=WITH_BASS)
    assert parts_at(told.packages[0], "seat") == ["held"], "two in-line filters cost 60"
    other = next(one for one in told.packages if parts_at(one, "seat") == ["bare"])
    assert [(one.part_id, one.quantity) for one in other.kit if one.kind == "filter"] == [("line", 2)]
    assert {one.high_pass_in or one.low_pass_in for one in other.filters} == {"in_line"}


def _filter_of_no_list(store: Store) -> None:
    (package,) = options(store, DEAF, BARE, COAXIAL, BASS, BOX, car=CAR, choose=WITH_BASS, top=1).packages
    (item,) = (one for one in package.kit if one.kind == "filter")
    assert (item.priced, package.price.from_) == (False, True)


def _filter_not_stated(store: Store) -> None:
    silent = BARE | {"hp_max_hz": None, "lp_min_hz": None, "lp_max_hz": None}
    (package,) = options(store, DEAF, silent, COAXIAL, BASS, BOX, car=CAR, choose=WITH_BASS, top=1).packages
    assert package.verdict == "measure"
    assert {f"part:bare.{name}" for name in ("hp_max_hz", "lp_min_hz", "lp_max_hz")} <= set(package.measure)


def _dynamo(store: Store) -> None:
    """Class AB: four channels of 40 W draw 20.2 A at full sine and 7.1 A on music."""
    hungry, dynamo = AMPLIFIER | {"class": "ab"}, {"charge_a": 40, "charge_idle_a": 4, "base_load_a": 14}
    for battery_ah, count in ((70, 0), (140, 1)):  # 4 A and 18 A at idle
        supply = dynamo | {"battery_ah": battery_ah}
        told = options(store, DEAF, hungry, car=CAR[:3], supply=supply, choose=["head_unit", "door"], top=1)
        assert len(told.packages) == count


def _dynamo_not_measured(store: Store) -> None:
    told = options(store, DEAF, car=CAR[:3], supply={"charge_idle_a": None}, choose=["head_unit", "door"], top=1)
    assert told.packages[0].verdict == "measure"
    assert "vehicle:tern.charge_idle_a" in told.packages[0].measure


def _own_channels(store: Store) -> None:
    """Two own channels of 20 W draw 1.8 A on music beside 0.8 A of an amplifier: 2.5 A are too little for both."""
    rear = speaker_opening(opening_id="rear")
    two = AMPLIFIER | {"full_channels": 2, "full_w_4ohm": 38, "full_min_ohm": 4}
    exact = {"charge_a": {"value": 40, "tol": 0}, "base_load_a": {"value": 37.5, "tol": 0}}
    asked = {"car": [*CAR[:3], rear], "choose": ["head_unit", "door", "rear"], "top": 5}
    for supply, sources in (({}, {"head_unit", "amplifier"}), (exact, {"head_unit"})):
        told = options(store, two, COAXIAL | {"rms_w": 26}, supply=supply, **asked)
        assert {link.slot for one in told.packages for link in one.links} == sources


def _long_standing(store: Store) -> None:
    """40 Ah at 40 % are 47.6 mA over 14 days: a car that rests on 45 mA leaves 2.6 mA to a radio of 3 mA."""
    thirsty = DEAF | {"standby_ma": 3, "amp_channels": 4}
    for rest_ma, count in ((44, 1), (45, 0), (None, 1)):
        supply = {"battery_ah": 40, "rest_ma": rest_ma}
        told = options(store, thirsty, car=CAR[:2], supply=supply, choose=["head_unit"], top=1)
        assert len(told.packages) == count


PROBES = [
    Probe(
        "filter that nothing has",
        "a cheaper amplifier has no filters, nor has the radio",
        "two in-line filters are bought with it, and the amplifier with filters leads",
        _filter_nowhere,
    ),
    Probe(
        "filter of no list",
        "the same, and no list has an in-line filter",
        "it is listed with an open price",
        _filter_of_no_list,
    ),
    Probe(
        "filter not stated",
        "the list of the amplifier says nothing of filters",
        "to be measured first, each setting named",
        _filter_not_stated,
    ),
    Probe(
        "dynamo",
        "a car charges well on the road and next to nothing at idle",
        "an amplifier that the battery cannot carry through a wait is in no package",
        _dynamo,
    ),
    Probe(
        "idle not measured",
        "nobody has measured what charging gives at idle",
        "to be measured first",
        _dynamo_not_measured,
    ),
    Probe(
        "own channels beside an amplifier",
        "charging carries the amplifier alone, and the radio's own channels play beside it",
        "they draw too: no such package",
        _own_channels,
    ),
    Probe(
        "car that stands for long",
        "the parts draw little at rest, the car itself nearly all that its battery spares in a fortnight",
        "what draws more than is left is in no package; a drain that nobody measured refuses nothing",
        _long_standing,
    ),
]
