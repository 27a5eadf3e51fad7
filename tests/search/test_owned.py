"""A customer's own parts: theirs alone, at no price, by the figures that are typed or those of the catalog."""

from __future__ import annotations

from typing import Any

import pytest

from matcher.errors import FileRefused
from matcher.store.catalog.printed_parts import printed_parts
from matcher.store.readings.readings import add_reading
from tests.factories import Row, amp_spot, amplifier, dash_opening, head_unit, job, speaker, speaker_opening
from tests.search.shops import Settled, Store

CAR = [dash_opening(), speaker_opening(), speaker_opening(opening_id="rear", position="rear"), amp_spot()]
RADIO = head_unit(amp_channels=0, preouts=4, preout_v=2, standby_ma=1, screen="none", features=["radio"])
LISTED = amplifier(price=300, full_w_4ohm=40, input_min_v=1, input_max_v=4, high_level_in=False, standby_ma=1)
COAXIAL = speaker(kind="coaxial", sens_db=88, sens_basis="1w", low_hz=80, high_hz=18_000, sd_cm2=130, xmax_mm=4)
TYPED = {
    "part_id": "own-amp",
    "family": "amplifier",
    "maker": "Skarv",
    "model": "Ebb",
    "figures": {
        name: LISTED[name]
        for name in ("full_channels", "full_w_4ohm", "full_min_ohm", "input_min_v", "input_max_v", "high_level_in")
    }
    | {
        "class": "d",
        "fuse_a": 25,
        "current_a": 20,
        "w_mm": 200,
        "h_mm": 50,
        "d_mm": 150,
        "standby_ma": 1,
        "labour_h": 1,
    },
}


def lay(store: Store, **changes: Any) -> Settled:
    settled = store.lay_town([RADIO, LISTED, COAXIAL], CAR, labour_rate=40)
    settled.job(job(**{"choose": ["head_unit", "door"]} | changes))
    return settled


@pytest.mark.parametrize("own", [TYPED, {"part_id": LISTED["part_id"]}], ids=["typed", "of the catalog"])
def test_an_own_amplifier_costs_labor_alone_in_its_job_and_is_nobody_elses(store: Store, own: Row) -> None:
    settled = lay(store, owned=[own])
    (mine, *_) = store.options("j1", top=1).packages
    (line,) = (line for line in mine.lines if line.slot == "amplifier")
    assert (line.part_id, line.is_owned, line.qty) == (own["part_id"], True, 0)
    assert line.price == (40 if own is TYPED else 0)
    assert printed_parts(store.con, [line.part_id])[line.part_id]["fuse_a"] == (25 if own is TYPED else None)
    assert own["part_id"] not in mine.bought()
    settled.job(job(job_id="j2", choose=["head_unit", "door"]))
    (theirs, *_) = store.options("j2", top=1).packages
    (line,) = (line for line in theirs.lines if line.slot == "amplifier")
    assert (line.part_id, line.is_owned, line.qty, line.price) == (LISTED["part_id"], False, 1, 300)


def test_an_own_part_is_measured_like_any_other(store: Store) -> None:
    dark = TYPED | {"figures": {name: cell for name, cell in TYPED["figures"].items() if name != "input_min_v"}}
    lay(store, owned=[dark], pin={"amplifier": "own-amp"})
    assert store.options("j1", top=1).packages[0].measure == ["part:own-amp.input_min_v"]
    add_reading(store.con, "part:own-amp", "input_min_v", "0.5")
    assert store.options("j1", top=1).packages[0].verdict == "fits"
    assert store.fit("own-amp", "tern/seat").verdict == "fits"


def test_one_own_pair_goes_to_its_opening_alone(store: Store) -> None:
    own_pair = {"part_id": COAXIAL["part_id"], "opening_id": "rear"}
    lay(store, choose=["head_unit", "door", "rear"], owned=[own_pair])
    (package, *_) = store.options("j1", top=1).packages
    own = {line.opening_id: (line.is_owned, line.qty, line.price) for line in package.lines if line.slot == "speaker"}
    assert own == {"door": (False, 2, 2 * COAXIAL["price"]), "rear": (True, 0, 0)}


@pytest.mark.parametrize(
    ("own", "place"),
    [
        ({"part_id": "nobody's"}, "owned[nobody's].family"),
        ({"part_id": "x", "family": "film"}, "owned[x].family"),
        (TYPED | {"figures": {"full_chanels": 4}}, "owned[own-amp].figures"),
        (TYPED | {"figures": {"full_channels": "four"}}, "owned[own-amp].figures.full_channels"),
        (TYPED | {"figures": {}}, "owned[own-amp].figures.full_channels"),
        ({"part_id": COAXIAL["part_id"]}, "owned[speaker-1].opening_id"),
        (TYPED | {"opening_id": "door"}, "owned[own-amp].opening_id"),
        (TYPED | {"part_id": LISTED["part_id"]}, "owned[amplifier-1]"),
    ],
)
def test_what_is_wrong_of_an_own_part_is_named(store: Store, own: Row, place: str) -> None:
    with pytest.raises(FileRefused) as refused:
        lay(store, owned=[own])
    assert place in [problem.column for problem in refused.value.problems]
