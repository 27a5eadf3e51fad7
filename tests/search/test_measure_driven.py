"""What to measure first on jobs with an amplifier and with bass, against trying every figure at every value."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.whys import Measure
from matcher.store.documents.saving import save_job
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.bass.towns import ELECTRICAL
from tests.factories import Bench, Row, amp_spot, amplifier, dash_opening, head_unit, speaker, speaker_opening, vehicle
from tests.search.findings import Values, parts_told, pivotal, winner


@pytest.fixture
def bench() -> Iterator[Bench]:
    made = Bench()
    yield made
    made.con.close()


@dataclass(frozen=True)
class Shopful:
    """A small catalog, a job on it, and its unknown figures with values on either side of all that decide."""

    parts: list[Row]
    job: Row
    values: Values


def unknown(rng: random.Random, parts: list[Row], fields: Mapping[str, Mapping[str, list[Any]]]) -> Values:
    """Forget two figures of some parts; the values that each of them might have."""
    some = [(one, field) for one in parts for field in fields.get(one["family"], ())]
    values: dict[str, list[Decimal]] = {}
    for one, field in rng.sample([each for each in some if each[0]["part_id"] != "z"], 2):
        one[field] = None
        values[f"part:{one['part_id']}.{field}"] = [Decimal(str(value)) for value in fields[one["family"]][field]]
    return values


def driven(seed: int) -> Shopful:
    """Loudspeakers that a head unit drives weakly, if at all, and one of two amplifiers better."""
    rng = random.Random(seed)
    weak = rng.choice([{"amp_channels": 0}, {"amp_channels": 4, "amp_w": 40, "amp_min_ohm": 4}])
    parts = [head_unit(preouts=4, preout_v=2, standby_ma=5, screen="flush", **weak)]
    for name in "pq":
        own = {"full_w_4ohm": rng.choice([40, 50, 60]), "price": rng.choice([100, 150]), "class": "d"}
        own |= {"input_min_v": 0.2, "input_max_v": 4, "standby_ma": 5, "fuse_a": 10, "current_a": 10}
        parts.append(amplifier(part_id=name, **own))
    parts.append(amplifier(part_id="z", price=900, w_mm=320, h_mm=130, full_min_ohm=8))  # goes in nowhere
    parts += [speaker(part_id=name, sens_db=rng.choice([88, 90, 94]), sens_basis="1w") for name in "st"]
    asked = {
        "amplifier": {"h_mm": [20, 100, 130], "w_mm": [150, 230, 280, 310], "full_min_ohm": [1, 4, 8]},
        "speaker": {"depth_mm": [40, 66, 80]},
    }
    values = unknown(rng, parts, asked)
    wishes = {"loudness": 5, "price": rng.choice([0, 1, 2])}
    return Shopful(parts, {"choose": ["head_unit", "door"], "wishes": wishes}, values)


def bassy(seed: int) -> Shopful:
    """Two drivers, two boxes, two amplifiers for them."""
    rng = random.Random(seed)
    parts = [head_unit(preouts=4, preout_v=2, standby_ma=5, screen="flush", amp_channels=4, amp_w=40, amp_min_ohm=4)]
    parts.append(speaker(sens_db=90, sens_basis="1w"))
    for name in "mn":
        watts = rng.choice([150, 200])
        own = {"bass_w_4ohm": watts, "bass_w_2ohm": watts, "bass_w_1ohm": watts, "price": rng.choice([100, 150])}
        parts.append(bass_amplifier(part_id=name, fuse_a=10, current_a=10, **own, **{"class": "d"}))
    parts += [driver(part_id=name, xmax_mm=rng.choice([8, 10, 12]), price=rng.choice([80, 120])) for name in "de"]
    parts += [box(part_id=name, net_l=rng.choice([30, 35, 40]), price=rng.choice([60, 90])) for name in "bc"]
    asked = {
        "amplifier": {"h_mm": [20, 100, 130]},
        "subwoofer": {"depth_mm": [100, 150, 300], "cutout_mm": [200, 235, 260]},
        "enclosure": {"w_mm": [300, 420, 700], "h_mm": [300, 360, 500]},
    }
    values = unknown(rng, parts, asked)
    wishes = {"bass": 5, "price": rng.choice([0, 1, 2])}
    return Shopful(parts, {"choose": ["head_unit", "door", "bass"], "wishes": wishes}, values)


def laid(bench: Bench, one: Shopful) -> None:
    places = [dash_opening(), speaker_opening(), amp_spot(), cargo_space()]
    bench.lay(*one.parts, vehicle(*places, electrical=ELECTRICAL))
    save_job(bench.con, json.dumps({"job_id": "j1", "vehicle_id": "tern", "limits": {}} | one.job), "test")


def check_value(bench: Bench, one: Measure) -> None:
    """At the value that it names one package wins, beyond it another."""
    good = one.fits_up_to if one.fits_from is None else one.fits_from
    if good is not None and not one.also:
        step = Decimal("0.1") if one.fits_from is None else Decimal("-0.1")
        assert winner(bench, {one.figure: good}) == parts_told(one.inside)
        beyond = winner(bench, {one.figure: good + 10 * step})
        assert beyond == parts_told(one.outside) or beyond == parts_told(one.inside)


DRAWN = [
    pytest.param(driven, 15, id="an amplifier's least load"),
    pytest.param(driven, 2, id="an amplifier that is better bridged, of which pairs are settled by less"),
    pytest.param(driven, 4, id="a width and a height of one amplifier: what is needed is good where it is least"),
    *(pytest.param(bassy, seed, id=f"bass {seed}") for seed in (0, 4)),
]


@pytest.mark.parametrize(("draw", "seed"), DRAWN)
def test_what_is_not_named_changes_no_winner_and_what_is_named_does(bench: Bench, draw: Any, seed: int) -> None:
    one = draw(seed)
    laid(bench, one)
    told = bench.measure("j1")
    named, found = {each.figure for each in told.figures}, pivotal(bench, one.values, of_one=True)
    assert told.complete and named
    assert named & one.values.keys() <= found <= named | set(told.not_weighed)
    for each in told.figures:
        check_value(bench, each)
