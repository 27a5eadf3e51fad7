"""The demo's cars and jobs: whole, spoken of by their own names, and with answers worth asking for."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import pytest

import data_demo
from catalog_schema.documents import build, parse_json
from catalog_schema.figures import read_number
from catalog_schema.jobs import Job
from catalog_schema.vehicles import OPENINGS, Electrical, SpeakerOpening, Vehicle
from data_demo.sheets import made_to_fit, numbered
from matcher.papers.today import sound_today

VEHICLES = {path.stem: build(Vehicle, parse_json(path.read_text("utf-8"))) for path in data_demo.vehicles()}
JOBS = {path.stem: build(Job, parse_json(path.read_text("utf-8"))) for path in data_demo.jobs()}


@pytest.mark.parametrize("vehicle", VEHICLES.values(), ids=list(VEHICLES))
def test_a_vehicle_is_whole(vehicle: Vehicle) -> None:
    names = [opening.opening_id for opening in vehicle.openings]
    assert len(names) == len(set(names))
    assert {opening.kind for opening in vehicle.openings} == set(OPENINGS)
    assert all(getattr(vehicle.electrical, field.name) for field in dataclasses.fields(Electrical))
    assert vehicle.runs.battery_to_dash_m and vehicle.runs.battery_to_cargo_m
    assert vehicle.panes and vehicle.no_fasten


def test_the_vehicles_of_the_demo_differ_as_described() -> None:
    panes = [pane for vehicle in VEHICLES.values() for pane in vehicle.panes]
    assert any(pane.frameless for pane in panes)
    assert any(pane.limit_pct is None for pane in panes)
    dunlin = VEHICLES["dunlin"]
    assert (read_number(6, "v"), "positive") == (
        dunlin.electrical.system_v and dunlin.electrical.system_v.value,
        dunlin.electrical.ground,
    )
    assert [opening.count for opening in dunlin.openings if isinstance(opening, SpeakerOpening)] == [1]


def test_half_of_the_van_s_depths_are_unmeasured() -> None:
    depths = [o.depth_mm for o in VEHICLES["auk-e"].openings if hasattr(o, "depth_mm")]
    assert depths.count(None) == len(depths) / 2


@pytest.mark.parametrize("job", JOBS.values(), ids=list(JOBS))
def test_a_job_speaks_of_its_vehicle(job: Job) -> None:
    openings = {opening.opening_id for opening in VEHICLES[job.vehicle_id].openings}
    assert set(job.choose or ()) <= openings | {"head_unit", "bass", "film", "security"}
    assert set(job.keep or ()) | set(job.limits.per_opening) <= openings
    assert set(job.keep or ()).isdisjoint(job.choose or ())
    assert list(job.tiers) == sorted(filter(None, job.tiers))
    assert len(job.tiers) == 3


def test_a_wished_feature_can_be_had() -> None:
    known = {word for row in numbered()["head_unit"] for word in str(row["features"]).split(";")}
    assert {word for job in JOBS.values() for word in job.limits.must or ()} <= known


# Adapters of the demo, worst case of both tolerances

TAPE, SHEET = 1.0, 0.5  # how far off a measured and a maker's figure may be
CLOSES = 6.0  # an adapter overlaps the edge of the opening by 3 all round


def openings() -> dict[str, dict[str, Any]]:
    documents = [json.loads(path.read_text("utf-8")) for path in data_demo.vehicles()]
    return {f"{d['vehicle_id']}/{o['opening_id']}": o for d in documents for o in d["openings"]}


def mm(opening: dict[str, Any], *names: str) -> float | None:
    """The first of the named lengths that the opening has, in mm."""
    cell = next((opening[name] for name in names if name in opening), None)
    value = read_number(cell["value"] if isinstance(cell, dict) else cell, "mm")
    return None if value is None else float(value)


@pytest.mark.parametrize("fitted", made_to_fit(), ids=lambda fitted: fitted["part_id"])
def test_an_adapter_made_to_fit_enters_and_closes_its_opening(fitted: dict[str, Any]) -> None:
    opening = openings()[fitted["opening"]]
    assert (fitted["for"], fitted["fits_shape"]) == (opening["kind"], opening["shape"])
    across = mm(opening, "hole_w_mm", "w_mm")
    down = mm(opening, "hole_h_mm", "h_mm") or across
    pairs = [(across, fitted["fits_w_mm"]), (down, fitted.get("fits_h_mm", fitted["fits_w_mm"]))]
    for hole, made_for in pairs:
        assert hole is not None
        assert TAPE + SHEET <= hole - made_for <= CLOSES - TAPE - SHEET


@pytest.mark.parametrize(
    "fitted", [f for f in made_to_fit() if f["for"] == "speaker"], ids=lambda fitted: fitted["part_id"]
)
def test_an_adapter_made_to_fit_meets_the_opening_s_bolts(fitted: dict[str, Any]) -> None:
    opening = openings()[fitted["opening"]]
    assert opening.get("bolt_count") == fitted.get("fits_bolt_count")
    for name in ("bolt_w_mm", "bolt_h_mm", "bolt_circle_mm"):
        there, made_for = mm(opening, name), fitted.get(f"fits_{name}")
        assert (there is None) == (made_for is None)
        assert there is None or made_for is None or abs(there - made_for) <= 3 - TAPE - SHEET


def test_the_pickup_has_a_sound_to_compare_with() -> None:
    """By hand, from 107.6 dB for 1 L at 30 Hz (Small 1972).

    Dash ends: 50 cm2 by 1 mm at 160 Hz are 90.66 dB, less than 6 W give. Doors: 95 cm2 by 1.5 mm at 100 Hz are
    91.59 dB, less than 10 W give. Pairs are 3.01 dB more: 93.67 dB and 94.60 dB, together 97.17 dB.
    """
    openings = [dataclasses.asdict(opening) | {"kind": opening.opening_kind} for opening in VEHICLES["skua-p"].openings]
    flat = [one | {f"original_{name}": cell for name, cell in (one.get("original") or {}).items()} for one in openings]
    plain = [
        {name: cell["value"] if isinstance(cell, dict) and "value" in cell else cell for name, cell in one.items()}
        for one in flat
    ]
    assert sound_today({"openings": plain}) == {"bass": 100, "treble": 9000, "loud": pytest.approx(97.17, abs=0.01)}
