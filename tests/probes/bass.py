"""Probes with bass: boxes that play one note, ports that chuff, figures and prices that are left out."""

from __future__ import annotations

from catalog_schema.answers import Bass, Options, Package
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.factories import Row
from tests.probes.probe import CAR, COAXIAL, RADIO, Probe, options, parts_at
from tests.search.shops import Store

MONO = bass_amplifier(part_id="amplifier-1", fuse_a=30, current_a=20, price=100) | {"class": "d"}
LOW_Q = driver(qts=0.38, qes=0.42)
SEALED = box(part_id="sealed", price=100)
WIDE = cargo_space(w_mm=900, h_mm=700, d_mm=700, d_top_mm=700, gate_w_mm=900, gate_h_mm=700, mass_max_kg=60)
VENTED: Row = {"kind": "vented", "port_mm": 120, "price": 40}


def _told(store: Store, *parts: Row, top: int = 10) -> Options:
    """The options of a job with bass, in a car with much room; the shop has no price for a box of its own."""
    chosen = ["head_unit", "door", "bass"]
    own = RADIO | {"amp_w": 25}, COAXIAL | {"rms_w": 25}, MONO
    return options(store, *own, *parts, car=[*CAR, WIDE], top=top, choose=chosen)


def _with(told: Options, part_id: str) -> Package:
    return next(package for package in told.packages if part_id in parts_at(package, "cargo"))


def _bass(package: Package) -> Bass:
    assert package.bass is not None
    return package.bass


def _booming_box(store: Store) -> None:
    vast = box(part_id="vast", net_l=200, tuned_hz=40, w_mm=800, h_mm=600, d_mm=600, d_top_mm=600, **VENTED)
    told = _told(store, LOW_Q, SEALED, vast)
    assert told.packages and all("vast" not in parts_at(package, "cargo") for package in told.packages)


def _cone_at_the_tuning(store: Store) -> None:
    told = _told(store, LOW_Q | {"xmax_mm": 1}, box(part_id="vented", net_l=30, tuned_hz=40, **VENTED))
    (at_40,) = [each for each in _bass(_with(told, "vented")).levels if each.hz == 40]
    # A monopole of 0.033 l is 82.97 dB at 40 Hz; losses with a Q of 7 leave 16.90 dB over it.
    assert (at_40.ruled_by, round(at_40.level_db, 1)) == ("travel", 99.9)


def _narrow_port(store: Store) -> None:
    narrow, wide = (box(part_id=f"port-{mm}", net_l=30, tuned_hz=35, **VENTED | {"port_mm": mm}) for mm in (40, 120))
    told = _told(store, LOW_Q, narrow, wide)
    assert "port-120" in parts_at(told.packages[0], "cargo")
    assert any(each.ruled_by == "port" for each in _bass(_with(told, "port-40")).levels)


def _unknown_port(store: Store) -> None:
    unknown = box(part_id="unknown", net_l=30, tuned_hz=35, **VENTED | {"port_mm": None})
    told = _told(store, LOW_Q, unknown)
    found = _bass(_with(told, "unknown"))
    assert found.estimated == ["port_mm"] and any("port" in note for note in found.notes)
    assert any(each.ruled_by == "port" for each in found.levels)


def _port_not_stated(store: Store) -> None:
    silent = box(part_id="silent", net_l=30, tuned_hz=35, **VENTED | {"port_mm": None, "price": 1})
    stated = box(part_id="stated", net_l=30, tuned_hz=35, **VENTED)
    assert "stated" in parts_at(_told(store, LOW_Q, silent, stated).packages[0], "cargo")


def _unloaded_cone(store: Store) -> None:
    vented = box(part_id="vented", net_l=30, tuned_hz=40, **VENTED | {"port_mm": 250})
    told = _told(store, LOW_Q | {"xmax_mm": 5}, vented)
    package = _with(told, "vented")
    (at_31,) = [each for each in _bass(package).levels if each.hz == 31.5]
    assert at_31.ruled_by == "travel"
    assert [one.high_pass_hz for one in package.filters if one.to == ["cargo"]] == [32]


def _unknown_q(store: Store) -> None:
    told = _told(store, driver(part_id="mute", qes=None), SEALED)
    package = _with(told, "mute")
    assert _bass(package).estimated == ["qes"]
    assert package.criteria["bass"] > 0


def _unpriced_box(store: Store) -> None:
    told = _told(store, LOW_Q, SEALED | {"price": 400})
    assert "sealed" in parts_at(told.packages[0], "cargo")
    assert {package.verdict for package in told.packages if parts_at(package, "cargo") == ["driver"]} <= {"measure"}


def _frame_left_out(store: Store) -> None:
    told = _told(store, driver(outer_mm=None, cutout_mm=185, vas_l=1))
    outer = _bass(told.packages[0]).outer
    assert outer is not None and outer.w_mm >= 185 + 2 * 18


def _high_q(store: Store) -> None:
    told = _told(store, driver(qts=0.9), box(part_id="small", net_l=15, price=10))
    assert all("small" not in parts_at(package, "cargo") for package in told.packages)


PROBES = [
    Probe(
        "box of one note",
        "a cheap vented box of 200 l, tuned to 40 Hz, for a driver that wants 30 l",
        "refused: it booms by more than 3 dB however large its losses are",
        _booming_box,
    ),
    Probe(
        "cone that stands still",
        "a driver with 1 mm of travel in a box tuned to 40 Hz, where a cone without losses does not move",
        "its travel limits it at 40 Hz, 16.9 dB over what the cone alone gives",
        _cone_at_the_tuning,
    ),
    Probe(
        "port of 40 mm",
        "of two like vented boxes one has a port of 40 mm",
        "its air is heard long before the travel ends: the box with 120 mm leads",
        _narrow_port,
    ),
    Probe(
        "port of unknown size",
        "a vented box whose maker does not state the port",
        "the port counts as usual for the volume, and the answer says so",
        _unknown_port,
    ),
    Probe(
        "port not stated",
        "of two like vented boxes the cheaper one states no port",
        "the other leads: the air in a port of unknown size may be heard",
        _port_not_stated,
    ),
    Probe(
        "cone below the tuning",
        "a box tuned to 40 Hz, where the power alone would give more at 31.5 Hz",
        "its travel limits it there, and its channels get a high-pass at 32 Hz",
        _unloaded_cone,
    ),
    Probe(
        "driver without Qes",
        "a driver whose list leaves its Qes out",
        "it is estimated, told as an estimate, and ranks: its level is not zero",
        _unknown_q,
    ),
    Probe(
        "box of no price",
        "the shop has not given what a box made to measure costs",
        "such a box is to be priced first: the box from the catalog leads",
        _unpriced_box,
    ),
    Probe(
        "flange left out",
        "a driver states its hole of 185 mm and not its flange; by its volume a box of 73 mm would do",
        "the box made for it is as wide as its hole and two boards at least",
        _frame_left_out,
    ),
    Probe("boom by a small box", "a cheap closed box in which the driver has a Q of over 1", "refused", _high_q),
]
