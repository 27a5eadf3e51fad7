"""A job remembers the catalog it was answered on; a fit tells what was measured beside what was claimed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from matcher import Shop
from matcher.errors import InputError

HEADS = (
    "part_id,maker,model,price,shape,size,cutout_w_mm,depth_mm,flange_w_mm,bolt_circle_mm,bolt_count,magnet_mm,"
    "front_mm,xmax_mm,impedance_ohm,rms_w"
)
ROW = "00123,Auk,One,{price},round,130 mm,128,45,150,142,4,90,5,3,4,40"
VEHICLE = {
    "vehicle_id": "gull",
    "openings": [
        {
            "opening_id": "front",
            "kind": "speaker",
            "shape": "round",
            "hole_w_mm": 130,
            "bolt_circle_mm": 142,
            "bolt_count": 4,
            "depth_mm": 61,
            "front_mm": 25,
            "flat_w_mm": 180,
            "flat_h_mm": 180,
            "behind": "fixed",
            "beside_mm": 120,
        }
    ],
}


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with one loudspeaker that was loaded at 80 and again at 95, a vehicle and a job."""
    shop = Shop(tmp_path / "shop.duckdb")
    for price in (80, 95):
        file = tmp_path / f"list-{price}.csv"
        file.write_text(f"{HEADS}\n{ROW.format(price=price)}\n")
        shop.catalog.load(file, family="speaker")
    for kind, document in (("vehicle", VEHICLE), ("job", {"job_id": "j", "vehicle_id": "gull", "choose": ["front"]})):
        path = tmp_path / f"{kind}.json"
        path.write_text(json.dumps(document))
        getattr(shop, f"{kind}s").load(path)
    return shop


def test_a_job_remembers_the_catalog_it_was_answered_on(shop: Shop) -> None:
    assert shop.jobs.get("j").to_dict()["answered_on"] is None
    answer = shop.options("j")
    assert (answer.catalog_version, answer.packages[0].price.parts) == (2, 190)
    assert shop.jobs.get("j").to_dict()["answered_on"] == 2


def test_a_job_is_asked_again_on_an_earlier_catalog(shop: Shop) -> None:
    shop.options("j")
    then = shop.options("j", version=1)
    assert (then.catalog_version, then.packages[0].price.parts) == (1, 160)
    assert shop.jobs.get("j").to_dict()["answered_on"] == 2  # looking back is not answering
    assert shop.options("j").packages[0].price.parts == 190


def test_an_unknown_catalog_is_refused(shop: Shop) -> None:
    with pytest.raises(InputError, match="version"):
        shop.options("j", version=7)


def test_a_fit_tells_the_claim_beside_the_reading(shop: Shop) -> None:
    assert shop.fit("00123", "gull/front").readings == []
    shop.readings.add("part:00123", "depth_mm", "47.5", basis="caliper", note="at the terminals")
    shop.readings.add("opening:gull/front", "depth_mm", 60)
    assert shop.fit("00123", "gull/front").readings == [
        "part:00123 depth_mm: claimed 45 mm, measured 47.5 mm, caliper (at the terminals)",
        "opening:gull/front depth_mm: claimed 61 mm, measured 60 mm",
    ]
