"""Probes with loudspeakers that are half a sound, claim more than they move, or stand behind the listeners."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import Package
from tests.factories import Row, amp_spot, dash_opening, speaker_opening
from tests.probes.probe import COAXIAL, RADIO, Probe, options, parts_at
from tests.search.shops import Store

DOORS = {"choose": ["head_unit", "door"]}
SPOT = {"tweeter_spot": True, "tweeter_hole_mm": 50, "tweeter_depth_mm": 25}
SPOT |= {"filter_w_mm": 120, "filter_h_mm": 40, "filter_d_mm": 80}
SET = COAXIAL | {"part_id": "set", "kind": "component", "sens_db": 94, "price": 60, "tweeter_hole_mm": 45}
SET |= {"tweeter_depth_mm": 20, "filter_w_mm": 110, "filter_h_mm": 35, "filter_d_mm": 70}
CHEAP = COAXIAL | {"price": 20}


def _doors(package: Package) -> str:
    (part_id,) = parts_at(package, "door")
    return part_id


def _is_refused(store: Store, part: Row, rule: str, car: list[Row] | None = None) -> None:
    """It stands in no package, and its rule says why."""
    told = options(store, part, car=car, **DOORS)
    assert {_doors(package) for package in told.packages} == {"coaxial"}
    checks = store.fit(part["part_id"], "tern/door", alteration="bolt_on").checks
    assert rule in [check.rule for check in checks if check.verdict == "no"]


def _tweeter(store: Store) -> None:
    tweeter = CHEAP | {"part_id": "tweeter", "kind": "tweeter", "sens_db": 95, "low_hz": 3500, "high_hz": 20_000}
    _is_refused(store, tweeter, "speaker.low_end")


def _tweeter_of_unknown_kind(store: Store) -> None:
    tweeter = CHEAP | {"part_id": "tweeter", "kind": None, "sens_db": 95, "low_hz": 3500, "high_hz": 20_000}
    _is_refused(store, tweeter, "speaker.low_end")


def _tweeter_with_bass(store: Store) -> None:
    tweeter = CHEAP | {"part_id": "tweeter", "kind": "tweeter", "sens_db": 95, "low_hz": 60, "high_hz": 20_000}
    _is_refused(store, tweeter, "speaker.kind")


def _midbass(store: Store) -> None:
    _is_refused(store, CHEAP | {"part_id": "midbass", "kind": "midbass", "sens_db": 94}, "speaker.kind")


def _dull_cone(store: Store) -> None:
    _is_refused(store, CHEAP | {"part_id": "dull", "kind": "full_range", "high_hz": 8000}, "speaker.treble")


def _set_without_spot(store: Store) -> None:
    car = [dash_opening(), speaker_opening(tweeter_spot=False), amp_spot()]
    _is_refused(store, SET, "speaker.tweeter_spot", car)


def _set_with_wide_filter(store: Store) -> None:
    car = [dash_opening(), speaker_opening(**SPOT), amp_spot()]
    _is_refused(store, SET | {"filter_w_mm": 130}, "speaker.filter_width", car)


def _set_with_its_spots(store: Store) -> None:
    car = [dash_opening(), speaker_opening(**SPOT), amp_spot()]
    assert _doors(options(store, SET, car=car, **DOORS).packages[0]) == "set"


def _watts_without_travel(store: Store) -> None:
    loud = CHEAP | {"part_id": "loud", "sens_db": 98, "sd_cm2": 32, "xmax_mm": 2, "price": 100}
    best = options(store, loud, COAXIAL | {"price": 100}, **DOORS).packages
    levels = {_doors(package): package.lines[1].level_db for package in best}
    assert _doors(best[0]) == "coaxial"
    assert levels["loud"] == Decimal("80.76")  # 32 cm2, 2 mm at 80 Hz, whatever its power


def _travel_not_stated(store: Store) -> None:
    silent = COAXIAL | {"part_id": "silent", "xmax_mm": None}
    best = options(store, silent, **DOORS).packages
    levels = {_doors(package): package.lines[1].level_db for package in best}
    assert (best[0].verdict, _doors(best[0])) == ("fits", "coaxial")
    assert levels["silent"] == Decimal("97.80")  # the usual 3.5 mm of its size, not zero and not without limit


def _low_end_not_moved(store: Store) -> None:
    """An octave lower asks for four times the travel: it gains an octave and loses 12 dB."""
    bold = COAXIAL | {"part_id": "bold", "low_hz": 40}
    told = options(store, bold, COAXIAL | {"rms_w": 34}, wishes={"loudness": 3, "bass": 3}, **DOORS)
    scores = {_doors(package): package.score for package in told.packages}
    assert abs(scores["bold"] - scores["coaxial"]) <= 5


def _sensitivity_without_basis(store: Store) -> None:
    vague = COAXIAL | {"part_id": "vague", "sens_db": 90, "sens_basis": None, "xmax_mm": 20, "front_mm": -2}
    told = options(store, vague | {"front_mm": 0, "sd_cm2": 300}, COAXIAL | {"sd_cm2": 900}, **DOORS)
    levels = {_doors(package): package.lines[1].level_db for package in told.packages}
    assert levels["vague"] is not None and levels["coaxial"] is not None
    assert levels["vague"] - levels["coaxial"] == Decimal("-1.01")  # 90 dB at 2.83 V is 86.99 dB at 1 W


def _loud_behind(store: Store) -> None:
    """The money goes to the front: only one pair of the better ones can be paid."""
    better = COAXIAL | {"part_id": "better", "sens_db": 93, "sd_cm2": 400, "rms_w": 25, "pack_of": 2, "price": 150}
    plain = COAXIAL | {"sd_cm2": 400, "rms_w": 25, "pack_of": 2, "price": 50}
    rear = speaker_opening(opening_id="shelf", position="rear")
    car = [dash_opening(), speaker_opening(), rear, amp_spot()]
    limits = {"alteration": "bolt_on", "budget": 310}
    told = options(store, better, plain, car=car, choose=["head_unit", "door", "shelf"], limits=limits)
    assert (_doors(told.packages[0]), parts_at(told.packages[0], "shelf")) == ("better", ["coaxial"])


def _two_channels(store: Store) -> None:
    pairs = [COAXIAL | {"impedance_ohm": 8, "rms_w": 12}, RADIO | {"part_id": "two", "amp_channels": 2, "amp_w": 25}]
    car = [dash_opening(), speaker_opening(), speaker_opening(opening_id="shelf", position="rear")]
    told = options(store, *pairs, car=car, choose=["head_unit", "door", "shelf"])
    assert parts_at(told.packages[0], "dash") == [RADIO["part_id"]]
    assert "two" in {name for package in told.packages for name in parts_at(package, "dash")}


def _depth_not_stated(store: Store) -> None:
    plain = COAXIAL | {"low_hz": 120}
    deep = plain | {"part_id": "deep", "depth_mm": None, "sens_db": 92}
    proud = plain | {"part_id": "proud", "front_mm": None, "sens_db": 90}
    told = options(store, plain, deep, proud, choose=["head_unit", "door"])
    assert [parts_at(package, "door") for package in told.packages] == [["proud"], ["coaxial"], ["deep"]]
    assert [package.verdict for package in told.packages] == ["measure", "fits", "measure"]


PROBES = [
    Probe("tweeter of 95 dB", "a cheap tweeter from 3500 Hz, louder than any cone", "never fills a place", _tweeter),
    Probe(
        "tweeter of no stated kind",
        "the same, and the list does not say that it is a tweeter",
        "its band tells: never fills a place",
        _tweeter_of_unknown_kind,
    ),
    Probe(
        "tweeter with bass",
        "a tweeter whose maker states a range from 60 Hz",
        "its kind tells: never fills a place",
        _tweeter_with_bass,
    ),
    Probe("midbass alone", "a loud midbass, without a tweeter", "never fills a place", _midbass),
    Probe("cone without treble", "a full-range loudspeaker up to 8 kHz", "refused: no treble", _dull_cone),
    Probe("set without a spot", "a component set in a car without a tweeter spot", "refused", _set_without_spot),
    Probe("set with a wide filter", "its filter is wider than its spot", "refused", _set_with_wide_filter),
    Probe("set with its spots", "the same set where tweeter and filter have room", "leads", _set_with_its_spots),
    Probe(
        "watts without travel",
        "a small cone of 98 dB with 2 mm of travel",
        "80.8 dB at its high-pass, by travel, and behind a plain coaxial",
        _watts_without_travel,
    ),
    Probe(
        "travel not stated",
        "a maker leaves out the travel",
        "the usual one of its size counts, as an estimate; it turns green and ranks as such",
        _travel_not_stated,
    ),
    Probe(
        "low end not moved",
        "a maker states a lower end an octave lower for the same cone",
        "it earns no more: an octave lower costs 12 dB of travel",
        _low_end_not_moved,
    ),
    Probe(
        "sensitivity without basis",
        "90 dB, and the list does not say whether at 1 W or at 2.83 V",
        "the lower reading counts: 86.99 dB at 1 W",
        _sensitivity_without_basis,
    ),
    Probe(
        "radio of two channels",
        "a cheaper and louder radio plays in front and behind by one pair of channels",
        "the radio with four leads: it has a fader",
        _two_channels,
    ),
    Probe(
        "depth not stated",
        "of two louder loudspeakers one states no depth, the other not how far it stands proud",
        "the former stays behind a plain one, the latter leads: foam mends what is too proud",
        _depth_not_stated,
    ),
    Probe("loud behind", "one pair of better loudspeakers can be paid", "it goes to the front", _loud_behind),
]
