"""Measured vehicles shared between shops: who measured and when is kept, and lengths are checked before they count."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from matcher import Shop
from matcher.errors import FileRefused, InputError
from tests.factories import empty_store

CAR = {
    "vehicle_id": "gull",
    "label": "Gull",
    "openings": [
        {"opening_id": "door", "kind": "speaker", "hole_w_mm": "130 ± 0.5", "depth_mm": 60, "behind": "fixed"}
    ],
}


@pytest.fixture
def north(tmp_path: Path) -> Shop:
    """A shop that has measured a car; its first reading of the depth was wrong."""
    shop = Shop(empty_store(tmp_path / "north.duckdb"))
    shop.set("shop_name", "North yard")
    shop.vehicles.save(CAR)
    wrong = shop.readings.add("opening:gull/door", "depth_mm", "16", by="Ida", sure=True)
    shop.readings.void(wrong.reading_id, note="digits swapped")
    shop.readings.add("opening:gull/door", "depth_mm", "61", by="Ida", tol="0.3")
    shop.readings.add("vehicle:gull", "charge_a", "90", by="Jon")
    return shop


def by_file(north: Shop, south: Shop, folder: Path) -> None:
    file = folder / "gull.json"
    file.write_text(json.dumps(north.vehicles.export("gull")), encoding="utf-8")
    assert south.vehicles.import_file(file) == ("gull", 2)


def by_folder(north: Shop, south: Shop, folder: Path) -> None:
    north.sharing.publish(folder / "published")
    assert south.sharing.attach_vehicles(folder / "published") == {"gull": 2}
    assert south.sharing.attach_vehicles(folder / "published") == {}


def test_attached_again_brings_what_was_measured_since(north: Shop, tmp_path: Path) -> None:
    """Only cars that were not here yet came in."""
    south = Shop(empty_store(tmp_path / "south.duckdb"))
    by_folder(north, south, tmp_path)
    south.readings.add("opening:gull/door", "hole_w_mm", "131")
    north.readings.add("opening:gull/door", "hole_w_mm", "129")
    north.readings.add("opening:gull/door", "depth_mm", "62")
    kept = north.vehicles.document("gull")
    shelf = {"opening_id": "shelf", "kind": "speaker", "depth_mm": 80}
    north.vehicles.save({**kept.document, "openings": [*kept.document["openings"], shelf]}, kept.mark)
    north.sharing.publish(tmp_path / "published")
    assert south.sharing.attach_vehicles(tmp_path / "published") == {"gull": 2}
    assert south.sharing.attach_vehicles(tmp_path / "published") == {}
    door, added = south.vehicles.get("gull").document["openings"]
    assert (door["depth_mm"], door["depth_mm_tol"], door["hole_w_mm"], added["depth_mm"]) == (62, 3, 131, 80)


@pytest.mark.parametrize("share", [by_file, by_folder])
def test_a_vehicle_of_another_shop_counts_with_wider_tolerance_until_it_is_checked(
    north: Shop, tmp_path: Path, share: Callable[[Shop, Shop, Path], None]
) -> None:
    south = Shop(empty_store(tmp_path / "south.duckdb"))
    south.set("shop_name", "South yard")
    share(north, south, tmp_path)
    (door,) = south.vehicles.get("gull").document["openings"]
    assert (door["depth_mm"], door["depth_mm_tol"], door["hole_w_mm"]) == (61, 3, 130)
    theirs = {one.field: one for one in north.readings.all() if one.counts}
    ours = {one.field: one for one in south.readings.all()}
    assert ours.keys() == {"depth_mm", "charge_a"}  # a voided reading stays behind
    assert {(one.by, one.read_at) for one in ours.values()} == {(one.by, one.read_at) for one in theirs.values()}
    assert ours["depth_mm"].note == "taken over from gull of North yard"
    assert (ours["depth_mm"].basis, ours["charge_a"].basis) == ("taken_over", "measured")
    south.readings.add("opening:gull/door", "depth_mm", "61.5")
    (door,) = south.vehicles.get("gull").document["openings"]
    assert (door["depth_mm"], door["depth_mm_tol"]) == (61.5, 1)
    assert any(one.what == "vehicle import" and "gull of North yard" in one.detail for one in south.log().entries)


@pytest.mark.parametrize(
    "broken",
    [
        lambda whole: {},
        lambda whole: whole | {"kind": "boltback job"},
        lambda whole: whole | {"edition": 9},
        lambda whole: whole | {"readings": [{"subject": "opening:gull/door"}]},
        lambda whole: whole | {"readings": [whole["readings"][0] | {"at": "yesterday"}]},
        lambda whole: whole | {"readings": [whole["readings"][0] | {"subject": "part:1"}]},
        lambda whole: whole | {"vehicle": {"vehicle_id": "gull", "openings": [{"opening_id": "door"}]}},
    ],
)
def test_nothing_of_a_faulty_document_is_taken(
    north: Shop, tmp_path: Path, broken: Callable[[dict[str, Any]], dict[str, Any]]
) -> None:
    file, south = tmp_path / "gull.json", Shop(empty_store(tmp_path / "south.duckdb"))
    south.set("shop_name", "South yard")
    file.write_text(json.dumps(broken(north.vehicles.export("gull"))), encoding="utf-8")
    with pytest.raises(InputError):
        south.vehicles.import_file(file)
    assert south.vehicles.all().document["vehicles"] == []


def test_a_name_that_is_taken_is_refused_and_another_can_be_given(north: Shop, tmp_path: Path) -> None:
    file = tmp_path / "gull.json"
    file.write_text(json.dumps(north.vehicles.export("gull")), encoding="utf-8")
    with pytest.raises(InputError, match="there is a vehicle gull already"):
        north.vehicles.import_file(file)
    assert north.vehicles.import_file(file, "gull-b") == ("gull-b", 2)
    with pytest.raises(FileRefused):
        north.sharing.attach_vehicles(tmp_path)
