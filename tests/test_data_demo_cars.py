"""The demo's cars and jobs: whole, spoken of by their own names, and with answers worth asking for."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

import pytest

import data_demo
from catalog_schema.documents import build, parse_json
from catalog_schema.figures import read_number
from catalog_schema.jobs import Job, Limits, Wishes
from catalog_schema.vehicles import (
    OPENINGS,
    Cut,
    Electrical,
    KeepClear,
    NoFasten,
    Pane,
    Runs,
    SpeakerOpening,
    Vehicle,
)
from data_demo.sheets import intended_faults, made_to_fit, numbered

VEHICLES = {path.stem: build(Vehicle, parse_json(path.read_text("utf-8"))) for path in data_demo.vehicles()}
JOBS = {path.stem: build(Job, parse_json(path.read_text("utf-8"))) for path in data_demo.jobs()}
SPOILT = {(fault["family"], fault["part_id"]) for fault in intended_faults() if fault["outcome"] == "problem"}


def strange_keys(model: type[Any], data: dict[str, Any]) -> set[str]:
    """The keys of a document's object that its model does not have."""
    return set(data) - {field.name for field in dataclasses.fields(model)}


@pytest.mark.parametrize("path", data_demo.vehicles(), ids=lambda path: path.stem)
def test_a_vehicle_has_only_known_keys(path: Path) -> None:
    data = json.loads(path.read_text("utf-8"))
    parts = [(Vehicle, data), (Electrical, data["electrical"]), (Runs, data["runs"])]
    parts += [(Pane, pane) for pane in data["panes"]]
    parts += [(NoFasten, zone) for zone in data["no_fasten"]]
    for opening in data["openings"]:
        parts.append((OPENINGS[opening["kind"]], opening))
        parts += [(KeepClear, thing) for thing in opening.get("keep_clear", [])]
        parts += [(Cut, opening["cut"])] if "cut" in opening else []
    assert [strange_keys(model, part) for model, part in parts if strange_keys(model, part)] == []


@pytest.mark.parametrize("path", data_demo.jobs(), ids=lambda path: path.stem)
def test_a_job_has_only_known_keys(path: Path) -> None:
    data = json.loads(path.read_text("utf-8"))
    parts = [(Job, data), (Limits, data["limits"]), (Wishes, data["wishes"])]
    assert [strange_keys(model, part) for model, part in parts if strange_keys(model, part)] == []


def test_which_vehicles_there_are() -> None:
    assert set(VEHICLES) == {vehicle.vehicle_id for vehicle in VEHICLES.values()}
    assert set(VEHICLES) == {"tern-8", "skua-p", "dunlin", "auk-e"}


@pytest.mark.parametrize("vehicle", VEHICLES.values(), ids=list(VEHICLES))
def test_a_vehicle_is_whole(vehicle: Vehicle) -> None:
    names = [opening.opening_id for opening in vehicle.openings]
    assert len(names) == len(set(names))
    assert {opening.kind for opening in vehicle.openings} == set(OPENINGS)
    assert all(getattr(vehicle.electrical, field.name) for field in dataclasses.fields(Electrical))
    assert vehicle.runs.battery_to_dash_m and vehicle.runs.battery_to_cargo_m
    assert vehicle.panes and vehicle.no_fasten


def test_what_the_vehicles_show() -> None:
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


def test_which_jobs_there_are() -> None:
    assert set(JOBS) == {job.job_id for job in JOBS.values()}
    assert {"tern-nocut", "tern-spare", "dunlin-radio", "skua-clash", "auk-unmeasured"} <= set(JOBS)


def test_a_wished_feature_can_be_had() -> None:
    known = {word for row in numbered()["head_unit"] for word in str(row["features"]).split(";")}
    assert {word for job in JOBS.values() for word in job.limits.must or ()} <= known


# What fits: the demo's answers hang on these, worst case of both tolerances

TAPE, SHEET = 1.0, 0.5  # how far off a measured and a maker's figure may be
CLOSES = 6.0  # an adapter overlaps the edge of the opening by 3 all round


def openings() -> dict[str, dict[str, Any]]:
    """Every opening of the demo as it stands in its file, by ``vehicle/opening``."""
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


def goes_in(part: dict[str, Any], opening: dict[str, Any]) -> bool:
    """Whether a loudspeaker certainly fits an opening with something fixed behind it, bolts aside."""
    known = ("cutout_w_mm", "depth_mm", "front_mm", "xmax_mm", "magnet_mm")
    if part["shape"] != opening["shape"] or any(part[name] is None for name in known):
        return False
    hole, down, both = mm(opening, "hole_w_mm"), mm(opening, "hole_h_mm", "hole_w_mm"), TAPE + SHEET
    depth, front, beside = mm(opening, "depth_mm"), mm(opening, "front_mm"), mm(opening, "beside_mm")
    assert hole and down and depth and front and beside
    return bool(
        hole - part["cutout_w_mm"] >= both
        and down - (part["cutout_h_mm"] or part["cutout_w_mm"]) >= both
        and depth - part["depth_mm"] - 3 >= both
        and front - part["front_mm"] - part["xmax_mm"] - 2 >= both + SHEET
        and part["flange_w_mm"] - hole - 6 >= both
        and beside - part["magnet_mm"] / 2 - 3 >= both
    )


@pytest.mark.parametrize(("opening_id", "size"), [("dash-top", "87 mm"), ("rear-shelf", "4x6")])
def test_the_main_job_has_several_loudspeakers_for_each_place(opening_id: str, size: str) -> None:
    opening = openings()[f"tern-8/{opening_id}"]
    going = [part for part in numbered()["speaker"] if goes_in(part, opening)]
    sound = [part for part in going if ("speaker", part["part_id"]) not in SPOILT]
    assert len(sound) >= 8
    assert {part["size"] for part in sound} == {size}


def cut_for(part: dict[str, Any], opening: dict[str, Any]) -> dict[str, Any]:
    """The opening enlarged as far as the loudspeaker asks, and as far as it can be."""
    wanted = {"w_mm": part["cutout_w_mm"] or 0, "h_mm": part["cutout_h_mm"] or part["cutout_w_mm"] or 0}
    room = TAPE + SHEET
    return opening | {
        f"hole_{side}": min(most, wanted[side] + room) for side, most in opening["cut"].items() if side in wanted
    }


@pytest.mark.parametrize(("opening_id", "larger"), [("dash-top", "100 mm"), ("rear-shelf", "6x9")])
def test_the_main_job_s_larger_loudspeakers_go_in_only_where_it_is_cut(opening_id: str, larger: str) -> None:
    opening = openings()[f"tern-8/{opening_id}"]
    parts = [part for part in numbered()["speaker"] if part["size"] == larger]
    assert not any(goes_in(part, opening) for part in parts)
    assert sum(goes_in(part, cut_for(part, opening)) for part in parts) >= 3


def test_the_main_job_has_several_screens_that_fit_through_a_kit() -> None:
    dash = openings()["tern-8/dash"]
    kit = next(fitted for fitted in made_to_fit() if fitted["part_id"] == "GU-TK01")
    limits = JOBS["tern-nocut"].limits
    assert limits.screen_min_in is not None
    room = dash["depth_mm"] + kit["forward_mm"] - TAPE - 2 * SHEET
    units: list[dict[str, Any]] = numbered()["head_unit"]
    going = [
        unit
        for unit in units
        if unit["screen"] == "floating"
        and unit["screen_in"] >= float(limits.screen_min_in.value)
        and set(limits.must or ()) <= set(str(unit["features"]).split(";"))
        and unit["body_d_mm"] is not None
        and unit["body_d_mm"] + unit["plugs_d_mm"] <= room
        and kit["gives_w_mm"] - unit["body_w_mm"] >= 2 * SHEET
        and kit["gives_h_mm"] - unit["body_h_mm"] >= 2 * SHEET
    ]
    assert len(going) >= 8
