"""The published schemas: fresh, valid in their dialect, and true of what the shop takes and answers."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import data_demo
from catalog_schema.documents import DocumentError, check_document, parse_json, take
from catalog_schema.jobs import Job
from catalog_schema.parts import FAMILIES
from catalog_schema.publish import main, texts
from catalog_schema.schemas import FOLDER, read_schema
from catalog_schema.vehicles import OPENINGS, Vehicle
from tests.factories import amp_spot, dash_opening, job, speaker_opening, thing, vehicle

NAMES = sorted(path.name.removesuffix(".schema.json") for path in FOLDER.glob("*.schema.json"))


def test_schemas_are_fresh(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--check"]) == 0, capsys.readouterr().out
    assert sorted(name for name, _ in texts()) == [f"{name}.schema.json" for name in NAMES]


def test_everything_a_shop_writes_has_a_schema() -> None:
    assert {*FAMILIES, "vehicle", "job", "fit", "options"} <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_schema_is_valid_in_its_dialect(name: str) -> None:
    schema = read_schema(name)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


def described(node: Any, path: str = "") -> list[str]:
    if not isinstance(node, dict):
        return []
    silent = [
        f"{path}.{field}"
        for field, schema in node.get("properties", {}).items()
        if isinstance(schema, dict) and not ({"description", "$ref", "enum"} & set(schema))
    ]
    return silent + [
        place
        for key, inner in node.items()
        if key == "$defs"
        for name in inner
        for place in described(inner[name], name)
    ]


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_every_column_says_what_it_is(family: str) -> None:
    schema = read_schema(family)
    assert not [place for place in described(schema) if place.count(".") == 1]
    assert schema["additionalProperties"] is False


@pytest.mark.parametrize("path", data_demo.vehicles(), ids=lambda path: path.stem)
def test_demo_vehicles_are_valid(path: Any) -> None:
    assert take(Vehicle, parse_json(path.read_text("utf-8")), "vehicle").vehicle_id == path.stem


@pytest.mark.parametrize("path", data_demo.jobs(), ids=lambda path: path.stem)
def test_demo_jobs_are_valid(path: Any) -> None:
    assert take(Job, parse_json(path.read_text("utf-8")), "job").job_id == path.stem


@pytest.mark.parametrize(
    "opening",
    [dash_opening(keep_clear=[thing()]), speaker_opening(cut={"w_mm": 3}), amp_spot()],
    ids=lambda each: each["kind"],
)
def test_an_opening_read_again_is_the_same(opening: dict[str, Any]) -> None:
    document = json.loads(json.dumps(vehicle(opening)))
    assert take(Vehicle, document, "vehicle") == take(Vehicle, parse_json(json.dumps(document)), "vehicle")
    (read,) = take(Vehicle, document, "vehicle").openings
    assert type(read) is OPENINGS[opening["kind"]]
    assert (read.opening_id, read.kind) == (opening["opening_id"], opening["kind"])


@pytest.mark.parametrize("kind", sorted(OPENINGS))
def test_a_field_of_another_kind_is_refused(kind: str) -> None:
    fields = {
        "dash": "hole_w_mm",
        "speaker": "shaft_mm",
        "cargo": "air",
        "amp_spot": "gate_w_mm",
        "control_spot": "fasten",
    }
    with pytest.raises(DocumentError):
        check_document(vehicle({"opening_id": "o", "kind": kind, fields[kind]: 3}), "vehicle")


def test_a_job_as_the_contract_writes_it() -> None:
    whole = job(
        limits={
            "alteration": "bolt_on",
            "per_opening": {"door": "metal_cut"},
            "budget": 900,
            "screen_min_in": 7,
            "must": ["phone_mirror"],
            "at_rest_ma": 30,
        },
        choose=["door", "head_unit", "bass", "film", "security"],
        keep=["shelf"],
        wishes={"loudness": 5, "bass": 0, "screen": 3, "original_look": 1, "price": 2},
        tiers=[300, 600.5],
        security_routes=["tow", "glass"],
    )
    read = take(Job, whole, "job")
    assert (read.limits.per_opening, read.wishes.loudness) == ({"door": "metal_cut"}, 5)
