"""Probes with parts that leave out what else an installation takes, or whose holes only seem to fit."""

from __future__ import annotations

from decimal import Decimal

from tests.factories import amp_spot, dash_opening, part, speaker_opening
from tests.probes.probe import AMPLIFIER, COAXIAL, RADIO, Probe, options, parts_at
from tests.search.shops import Store

BARE_RADIO = RADIO | {"amp_channels": 0}
CAR = [dash_opening(), speaker_opening(), amp_spot(run_m=4)]
CHOSEN = ["head_unit", "door"]


def _cable_of_no_list(store: Store) -> None:
    thin = part("cable", part_id="thin", area_mm2=2, length_m=9, price=9)
    told = options(store, BARE_RADIO, thin, car=CAR, choose=CHOSEN)
    (cable,) = (item for item in told.packages[0].kit if item.kind == "cable")
    assert (cable.priced, cable.price > 0, told.packages[0].price.from_) == (False, True, True)
    thick = thin | {"part_id": "thick", "area_mm2": 25, "length_m": 9, "price": 9}
    listed = options(store, BARE_RADIO, thin, thick, car=CAR, choose=CHOSEN)
    assert listed.packages[0].price.total < told.packages[0].price.total


def _six_holes_for_four(store: Store) -> None:
    six = COAXIAL | {"part_id": "six", "bolt_count": 6, "price": 1}
    assert parts_at(options(store, six, choose=CHOSEN).packages[0], "door") == ["coaxial"]


def _eight_holes_for_four(store: Store) -> None:
    eight = COAXIAL | {"part_id": "eight", "bolt_circle_mm": 130, "bolt_patterns": ["8x155"], "price": 1}
    assert parts_at(options(store, eight, choose=CHOSEN).packages[0], "door") == ["eight"]


def _fuse_of_another_rating(store: Store) -> None:
    large = part("install", part_id="large", kind="fuse", unit="piece", rated_a=100, price=1)
    told = options(store, BARE_RADIO, large, choose=CHOSEN)
    (fuse,) = (item for item in told.packages[0].kit if item.kind == "fuse")
    assert (fuse.part_id, fuse.price) == (None, Decimal(1)), "priced as the dearest fuse of the lists"


def _board_of_no_price(store: Store) -> None:
    told = options(
        store, BARE_RADIO, part("accessory", part_id="plank", kind="board", price=30), car=CAR, choose=CHOSEN
    )
    (board,) = (item for item in told.packages[0].kit if item.kind == "board")
    assert (board.priced, board.price, told.packages[0].price.from_) == (False, 30, True)


def _no_metal_beside(store: Store) -> None:
    """A spot on a wooden floor, 4 m from the battery: 4.4 m of ground cable, not 0.6 m to the body."""
    for ground, kind, quantity in (("body", "ground_lead", "0.6"), ("cable", "ground_cable", "4.4")):
        car = [*CAR[:2], amp_spot(run_m=4, ground=ground)]
        (item,) = (
            one for one in options(store, BARE_RADIO, car=car, choose=CHOSEN).packages[0].kit if one.kind == kind
        )
        assert (item.quantity, item.estimated) == (Decimal(quantity), False)


def _bridged_channels(store: Store) -> None:
    """Two loudspeakers by two bridged pairs: two wires of 3 m, not four; about so much if nobody has measured."""
    bridged = AMPLIFIER | {"full_w_4ohm": 10, "full_bridged_w_4ohm": 40, "full_bridged_min_ohm": 4}
    for wire_m, quantity in ((3, "6.6"), (None, "8.8")):
        car = [dash_opening(), speaker_opening(wire_m=wire_m), amp_spot(run_m=4)]
        best = options(store, BARE_RADIO, bridged, car=car, choose=CHOSEN).packages[0]
        (item,) = (one for one in best.kit if one.kind == "speaker_wire")
        assert (best.links[0].mode, item.quantity, item.estimated) == ("bridged", Decimal(quantity), wire_m is None)


PROBES = [
    Probe(
        "cable of no list",
        "no cable of the lists is thick enough for the amplifier",
        "the cable is listed with an open price and an estimate: the package costs more than with a listed cable",
        _cable_of_no_list,
    ),
    Probe(
        "six holes for four",
        "a cheap loudspeaker has six holes on the circle of the opening's four",
        "it is no package's: six evenly spaced holes meet two of four",
        _six_holes_for_four,
    ),
    Probe(
        "eight holes for four",
        "a loudspeaker states another circle, and eight holes on the opening's in its list of patterns",
        "it bolts in: four of eight holes do",
        _eight_holes_for_four,
    ),
    Probe(
        "fuse of another rating",
        "the only fuse of the lists is far larger than the cable carries",
        "it is not the main fuse: the fuse is listed with an open price",
        _fuse_of_another_rating,
    ),
    Probe(
        "no metal beside the amplifier",
        "an amplifier's spot has no bare metal of the body",
        "a ground cable goes back to the battery, and is paid",
        _no_metal_beside,
    ),
    Probe(
        "bridged channels",
        "an amplifier of four channels plays two loudspeakers",
        "wire is counted by loudspeaker, over the way of its place",
        _bridged_channels,
    ),
    Probe(
        "board of no price",
        "no board of the lists holds the amplifier, and the shop has no price for its own",
        "it counts as the dearest board of the lists does, its price is open",
        _board_of_no_price,
    ),
]
