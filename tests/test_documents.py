"""Vehicles and jobs as files: taken whole or not at all, every fault told at once, by the names of things."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from catalog_schema.documents import DocumentError, build, parse_json, take
from catalog_schema.jobs import Job
from catalog_schema.vehicles import Vehicle
from matcher import Shop
from matcher.errors import FileRefused, InputError, NotKnown
from tests.factories import Row, amp_spot, dash_opening, empty_store, job, plain, speaker_opening, thing, vehicle
from tests.postgres import on_both

stand = on_both

# a vehicle's document, then the place of each fault and what was found there
VEHICLE_FAULTS: list[tuple[Any, list[tuple[str, str]]]] = [
    ([], [("file", "a list of 0")]),
    (3, [("file", "3")]),
    (None, [("file", "null")]),
    ({}, [("vehicle_id", "")]),
    ({"vehicle_id": "  "}, [("vehicle_id", "")]),
    ({"vehicle_id": None}, [("vehicle_id", "")]),
    ({"vehicle_id": True}, [("vehicle_id", "true")]),
    (vehicle(colour="red"), [("colour", "colour")]),
    (vehicle(year="abc"), [("year", "abc")]),
    (vehicle(year=1492), [("year", "1492")]),
    (vehicle(dash_opening(w_mm=-3)), [("openings[dash].w_mm", "-3")]),
    (vehicle(dash_opening(w_mm=0)), [("openings[dash].w_mm", "0")]),
    (vehicle(dash_opening(w_mm="-5 mm")), [("openings[dash].w_mm", "-5 mm")]),
    (vehicle(dash_opening(w_mm="12 V")), [("openings[dash].w_mm", "12 V")]),
    (vehicle(dash_opening(w_mm="4x10")), [("openings[dash].w_mm", "4x10")]),
    (vehicle(dash_opening(w_mm=True)), [("openings[dash].w_mm", "True")]),
    (vehicle(dash_opening(w_mm=20001)), [("openings[dash].w_mm", "20001")]),
    (vehicle(dash_opening(w_mm={"value": 3, "tolerance": 1})), [("openings[dash].w_mm", "tolerance")]),
    (vehicle(dash_opening(w_mm={"value": 3, "basis": "guess"})), [("openings[dash].w_mm", "guess")]),
    (vehicle(dash_opening(w_mm={"value": 3, "tol": -1})), [("openings[dash].w_mm", "-1")]),
    (vehicle(dash_opening(w_mm={"tol": 1})), [("openings[dash].w_mm", "{}")]),
    (vehicle(dash_opening(widht_mm=3)), [("openings[dash].widht_mm", "widht_mm")]),
    (vehicle(dash_opening(kind="dahs")), [("openings[dash].kind", "dahs")]),
    (vehicle(dash_opening(kind=None)), [("openings[dash].kind", "")]),
    (vehicle(dash_opening(opening_id=None)), [("openings[0].opening_id", "")]),
    (vehicle(speaker_opening(shape="blob")), [("openings[door].shape", "blob")]),
    (vehicle(speaker_opening(count=3)), [("openings[door].count", "3")]),
    (vehicle(speaker_opening(cut={"material": "wood"})), [("openings[door].cut.material", "wood")]),
    (vehicle(dash_opening(keep_clear=[thing(reach=-4)])), [("openings[dash].keep_clear[hazard switch].reach", "-4")]),
    (vehicle(dash_opening(keep_clear=[{"x_mm": 1}])), [("openings[dash].keep_clear[0].name", "")]),
    (vehicle(3, None), [("openings[0]", "3"), ("openings[1]", "null")]),  # type: ignore[arg-type]
    (vehicle(openings={"dash": {}}), [("openings", "the fields dash")]),
    (vehicle(panes=[{"pane": "rear", "vlt_pct": "x"}]), [("panes[rear].vlt_pct", "x")]),
    (vehicle(vehicle_id="a\ud800"), [("vehicle_id", "a\\ud800")]),
    (vehicle(vehicle_id="a\x00b"), [("vehicle_id", "a\\0b")]),
    (
        vehicle(dash_opening(keep_clear=[thing(reach="\udc80")])),
        [("openings[dash].keep_clear[hazard switch].reach", "\\udc80")],
    ),
    # All of them at once, whether the structure is wrong or a figure.
    (
        vehicle(dash_opening(w_mm="abc", widht_mm=3), speaker_opening(hole_w_mm=-1), year="x", colour="red"),
        [
            ("colour", "colour"),
            ("openings[dash].w_mm", "abc"),
            ("openings[dash].widht_mm", "widht_mm"),
            ("openings[door].hole_w_mm", "-1"),
            ("year", "x"),
        ],
    ),
]

JOB_FAULTS: list[tuple[Any, list[tuple[str, str]]]] = [
    ({"job_id": "j"}, [("vehicle_id", "")]),
    (job(limits={"alteration": "cut"}), [("limits.alteration", "cut")]),
    (job(limits={"per_opening": {"door": "x"}}), [("limits.per_opening.door", "x")]),
    (job(limits={"per_opening": 3}), [("limits.per_opening", "3")]),
    (job(limits={"budget": -3}), [("limits.budget", "-3")]),
    (job(limits={"budgt": 3}), [("limits.budgt", "budgt")]),
    (job(wishes={"loudness": 7, "bass": "x"}), [("wishes.bass", "x"), ("wishes.loudness", "7")]),
    (job(tiers=["a", -1]), [("tiers[0]", "a"), ("tiers[1]", "-1")]),
    (job(security_routes=["zz"]), [("security_routes", "zz")]),
]


def told(model: type[Any], document: Any, schema: str) -> list[tuple[str, str]]:
    with pytest.raises(DocumentError) as caught:
        take(model, document, schema)
    return [(fault.column, fault.found) for fault in caught.value.faults]


@pytest.mark.parametrize(("document", "expected"), VEHICLE_FAULTS)
def test_faults_of_a_vehicle(document: Any, expected: list[tuple[str, str]]) -> None:
    assert told(Vehicle, document, "vehicle") == expected


@pytest.mark.parametrize(("document", "expected"), JOB_FAULTS)
def test_faults_of_a_job(document: Any, expected: list[tuple[str, str]]) -> None:
    assert told(Job, document, "job") == expected


def test_a_field_spelled_wrongly_is_offered_its_neighbor() -> None:
    with pytest.raises(DocumentError) as caught:
        take(Vehicle, vehicle(dash_opening(depht_mm=3)), "vehicle")
    assert caught.value.faults[0].fix == "did you mean depth_mm?"


# text, then place, and what was found
BROKEN = [
    ('{"vehicle_id": ', "line 1, column 16", "the end of the line"),
    ('{"vehicle_id": "a",}', "line 1, column 20", "}"),
    ('{\n "year": NaN}', "line 2", "NaN"),
    ('{"label": "Infinity",\n\n "year": Infinity}', "line 3", "Infinity"),
    ('{"year": -Infinity}', "line 1", "-Infinity"),
    ('{"year": 1, "year": 2}', "year", "2 times 'year'"),
    ('{"openings": [{"kind": 1, "kind": 2}]}', "kind", "2 times 'kind'"),
    ("[" * 100_000, "file", "lists within lists"),
    ('{"a":' * 50_000 + "1" + "}" * 50_000, "file", "lists within lists"),
]


@pytest.mark.parametrize(("text", "place", "found"), BROKEN)
def test_text_that_is_no_plain_json(text: str, place: str, found: str) -> None:
    with pytest.raises(DocumentError) as caught:
        parse_json(text)
    assert [(fault.column, fault.found) for fault in caught.value.faults] == [(place, found)]


@pytest.mark.parametrize("number", ["1e400", "1e9999999999", "-1e400", "9" * 400])
def test_numbers_beyond_all_measure(number: str) -> None:
    opening = '{"opening_id": "d", "kind": "dash", "w_mm": ' + number + "}"
    document = parse_json('{"vehicle_id": "a", "openings": [' + opening + "]}")
    ((place, _),) = told(Vehicle, document, "vehicle")
    assert place == "openings[d].w_mm"


def test_a_number_of_thousands_of_digits() -> None:
    with pytest.raises(DocumentError):
        parse_json('{"year": ' + "9" * 5000 + "}")


def test_thirty_lists_within_lists() -> None:
    document = parse_json('{"vehicle_id": "a", "notes": ' + "[" * 30 + "]" * 30 + "}")
    ((place, _),) = told(Vehicle, document, "vehicle")
    assert place == "notes"


def test_numbers_stay_exact() -> None:
    document = parse_json('{"vehicle_id": "a", "openings": [{"opening_id": "d", "kind": "dash", "w_mm": 62.3}]}')
    (opening,) = take(Vehicle, document, "vehicle").openings
    assert opening.w_mm.value == Decimal("62.3")  # type: ignore[attr-defined]


SAME = [60.325, "60.3250", "60.3250 mm", "6,0325 cm", "2 3/8 in", '2 3/8"', "6.0325 cm", {"value": "2 3/8 in"}]


@pytest.mark.parametrize("written", SAME)
def test_a_length_is_the_same_however_it_is_written(written: Any) -> None:
    (opening,) = take(Vehicle, vehicle(dash_opening(w_mm=written)), "vehicle").openings
    assert opening.w_mm.value == Decimal("60.3250")  # type: ignore[attr-defined]


def test_null_is_unknown_and_what_has_a_default_keeps_it() -> None:
    read = take(Job, job(wishes={"loudness": None}), "job")
    (opening,) = take(Vehicle, vehicle(speaker_opening(count=None)), "vehicle").openings
    assert (read.wishes.loudness, opening.count) == (3, None)  # type: ignore[attr-defined]


FILES: list[tuple[bytes | None, str]] = [
    (None, "there is no file"),
    (b"", "is empty"),
    (b" \n", "is empty"),
    ('{"vehicle_id": "é"}'.encode("latin-1"), "not text in UTF-8"),
    ('{"vehicle_id": "a"}'.encode("utf-16"), "not text in UTF-8"),
    (b"\x00\x01", "characters that no page can show"),
]


@pytest.mark.parametrize(("content", "says"), FILES)
def test_files_that_cannot_be_read(tmp_path: Path, content: bytes | None, says: str) -> None:
    path = tmp_path / "car.json"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(FileRefused, match=says):
        Shop(tmp_path / "shop.duckdb").vehicles.load(path)
    assert not (tmp_path / "shop.duckdb").exists(), "nothing of it was taken, no store was made"


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(FileRefused, match="is a folder"):
        Shop(tmp_path / "shop.duckdb").vehicles.load(tmp_path)


def test_a_file_too_large_is_not_even_read(tmp_path: Path) -> None:
    with (tmp_path / "car.json").open("wb") as file:
        file.truncate(21_000_000)
    with pytest.raises(FileRefused, match="too large"):
        Shop(tmp_path / "shop.duckdb").vehicles.load(tmp_path / "car.json")


@pytest.fixture
def shop(stand: Callable[[Path], Path], tmp_path: Path) -> Shop:
    """A shop without anything in it."""
    return Shop(stand(empty_store(tmp_path / "shop.duckdb")))


def load(shop: Shop, document: Row) -> str:
    path = shop.store.path.with_name("document.json")
    path.write_text(json.dumps(document, default=plain), encoding="utf-8-sig")
    return shop.jobs.load(path) if "job_id" in document else shop.vehicles.load(path)


def test_a_file_as_windows_saves_it(shop: Shop) -> None:
    assert load(shop, vehicle(dash_opening())) == "tern"


@pytest.mark.parametrize(
    ("document", "column", "found"),
    [
        (vehicle(dash_opening(), amp_spot(opening_id="dash")), "openings", "dash"),
        (vehicle(vehicle_id="a/b"), "vehicle_id", "a/b"),
    ],
)
def test_names_that_would_not_be_found_again(shop: Shop, document: Row, column: str, found: str) -> None:
    with pytest.raises(FileRefused) as caught:
        load(shop, document)
    assert [(problem.column, problem.found) for problem in caught.value.problems] == [(column, found)]


def test_a_vehicle_replaces_the_one_of_its_name(shop: Shop) -> None:
    load(shop, vehicle(dash_opening(), amp_spot()))
    load(shop, vehicle(speaker_opening()))
    names = {row[0] for row in shop.vehicles.get("tern").cells}
    assert "door" in names and not names & {"dash", "seat"}


def test_a_refused_file_leaves_the_vehicle_as_it_was(shop: Shop) -> None:
    load(shop, vehicle(dash_opening()))
    with pytest.raises(FileRefused):
        load(shop, vehicle(dash_opening(w_mm="abc")))
    assert "dash" in str(shop.vehicles.get("tern").to_dict())


def test_a_job_names_what_its_vehicle_has(shop: Shop) -> None:
    load(shop, vehicle(dash_opening(), speaker_opening()))
    wrong = job(choose=["dahs"], keep=["boot", "door"], limits={"per_opening": {"roof": "bolt_in"}})
    with pytest.raises(FileRefused) as caught:
        load(shop, wrong)
    assert {(problem.column, problem.found) for problem in caught.value.problems} == {
        ("choose", "dahs"),
        ("keep", "boot"),
        ("limits.per_opening", "roof"),
    }
    with pytest.raises(FileRefused):
        load(shop, job(choose=["door"], keep=["door"]))
    with pytest.raises(NotKnown):
        load(shop, job(vehicle_id="skua"))
    assert load(shop, job(choose=["dash"], keep=["door"])) == "j1"


def test_every_fault_names_its_file(shop: Shop) -> None:
    with pytest.raises(InputError) as caught:
        load(shop, vehicle(dash_opening(w_mm="abc", h_mm="def")))
    assert all(problem.file.endswith("document.json") for problem in caught.value.problems)
    assert len(caught.value.problems) == 2


def test_build_reads_what_was_held_against_its_schema_before() -> None:
    assert build(Job, parse_json(json.dumps(job()))).limits.alteration == "bolt_on"
