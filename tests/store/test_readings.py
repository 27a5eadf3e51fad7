"""Readings: what was measured counts, what was claimed stays beside it, nothing is ever lost."""

from __future__ import annotations

import datetime
import json
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from matcher.errors import FileRefused, InputError, NotKnown
from matcher.store.catalog.overlay import lay_over_openings
from matcher.store.database.opening import Store
from matcher.store.documents.saving import save_job, save_vehicle
from matcher.store.importing.loading import load_lists
from matcher.store.readings.claims import claims_beside, part_sheet
from matcher.store.readings.reading_files import load_readings
from matcher.store.readings.readings import add_reading, list_readings, void_reading
from tests.factories import empty_store
from tests.postgres import on_both

stand = on_both
Ask = Callable[..., list[tuple[Any, ...]]]

HEAD_UNIT = "part_id,maker,model,price,preout_v,body_d_mm,screen,features,basis\n"
ROWS = "hu,Mo,One,100,4,150,flush,usb,maker\nhu2,Mo,Two,100,4,160 (caliper),none,usb,maker\n"
CAR = {
    "vehicle_id": "car",
    "electrical": {"system_v": 12, "charge_a": 40},
    "openings": [
        {"opening_id": "door", "kind": "speaker", "depth_mm": 60, "behind": "fixed", "cut": {"w_mm": 200}},
        {
            "opening_id": "dash",
            "kind": "dash",
            "w_mm": {"value": "7 in", "basis": "maker"},
            "keep_clear": [{"name": "hazard switch", "x_mm": -20, "reach": "fingers"}, {"name": "vents", "x_mm": 5}],
        },
    ],
    "panes": [{"pane": "rear no. 2", "vlt_pct": 80}, {"pane": "windshield", "vlt_pct": 78}],
}


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a store with two head units, a car and a job."""
    folder = tmp_path_factory.mktemp("readings")
    store = Store(empty_store(folder / "shop.duckdb"))
    (folder / "head_units.csv").write_text(HEAD_UNIT + ROWS, encoding="utf-8")
    load_lists(store, [folder / "head_units.csv"], "head_unit")
    with store.changing() as con:
        save_vehicle(con, json.dumps(CAR), "car.json")
        save_job(con, json.dumps({"job_id": "job", "vehicle_id": "car"}), "job.json")
    return store.path


@pytest.fixture
def store(made_once: Path, stand: Callable[[Path], Path], tmp_path: Path) -> Store:
    """A copy of it."""
    return Store(stand(shutil.copyfile(made_once, tmp_path / "shop.duckdb")))


def read(store: Store, *reading: object, **named: Any) -> None:
    with store.changing() as con:
        add_reading(con, *reading, **named)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("subject", "field", "value", "named", "expected"),
    [
        ("part:hu", "preout_v", "5.6 V", {}, ("5.6", None)),
        ("part:hu", "preout_v", "5", {"tol": "100 mV"}, ("5", "0.1")),
        ("part:hu", "body_d_mm", "6 in", {}, ("152.4", "1")),
        ("part:hu", "body_d_mm", "155 ±0.3", {}, ("155", "0.3")),
        ("part:hu", "body_d_mm", 155, {"basis": "caliper"}, ("155", "0.2")),
        ("part:hu", "body_d_mm", "155 (estimate)", {}, ("155", "5")),
        ("part:hu", "body_d_mm", "155", {"basis": "maker"}, ("155", "0.5")),
        ("opening:car/door", "depth_mm", "61", {}, ("61", "1")),
        ("opening:car/door", "cut_w_mm", "8 in", {}, ("203.2", "1")),
        ("vehicle:car", "charge_a", "55 A", {}, ("55", None)),
    ],
)
def test_a_reading_counts_where_the_figure_is_asked_for(
    store: Store,
    ask: Ask,
    subject: str,
    field: str,
    value: object,
    named: dict[str, Any],
    expected: tuple[str, str | None],
) -> None:
    read(store, subject, field, value, **named)
    table = {"part": "head_unit where part_id = 'hu'", "opening": "opening_speaker", "vehicle": "vehicle"}
    query = f"select {field}, {field}_tol from {table[subject.partition(':')[0]]}"
    assert ask(query) == [tuple(cell and Decimal(cell) for cell in expected)]


@pytest.mark.parametrize(
    ("subject", "field", "value", "query", "expected"),
    [
        ("opening:car/door", "behind", "Moving glass", "select behind from opening_speaker", "moving_glass"),
        ("opening:car/dash", "rear_support", "yes", "select rear_support from opening_dash", True),
        ("part:hu", "features", "USB; dab", "select features from head_unit where part_id = 'hu'", ["usb", "dab"]),
        ("part:hu", "screen", "floating", "select screen from head_unit where part_id = 'hu'", "floating"),
        ("vehicle:car", "ground", "positive", "select ground from vehicle", "positive"),
    ],
)
def test_a_reading_may_be_a_word(
    store: Store, ask: Ask, subject: str, field: str, value: str, query: str, expected: object
) -> None:
    read(store, subject, field, value)
    assert ask(query) == [(expected,)]


LISTED = [
    ("opening:car/dash", "keep_clear.hazard switch.x_mm", "-18 mm", "keep_clear", ("-18", "1", "5", None)),
    ("opening:car/dash", "keep_clear.vents.x_mm", "6 (caliper)", "keep_clear", ("-20", None, "6", "0.2")),
    ("vehicle:car", "panes.rear no. 2.limit_pct", "35 %", "pane", ("35", None, None, None)),
    ("vehicle:car", "panes.windshield.limit_pct", "75", "pane", (None, None, "75", None)),
]
"""Subject, field, reading, table; then the figure and tolerance of each of the two things that it lists."""


@pytest.mark.parametrize(("subject", "field", "value", "table", "expected"), LISTED)
def test_a_reading_reaches_what_is_listed_by_name(
    store: Store, ask: Ask, subject: str, field: str, value: str, table: str, expected: tuple[str | None, ...]
) -> None:
    column = field.rpartition(".")[2]
    want = [tuple(cell and Decimal(cell) for cell in expected[at : at + 2]) for at in (0, 2)]
    read(store, subject, field, value)
    query = f"select {column}, {column}_tol from {table} order by position"
    assert ask(query) == want
    with store.changing() as con:
        save_vehicle(con, json.dumps(CAR), "car.json")
        lay_over_openings(con, "car")
    assert ask(query) == want, "a vehicle that is loaded again keeps its readings"


def test_a_reading_of_what_is_listed_stands_beside_its_claim(store: Store) -> None:
    read(store, "vehicle:car", "panes.windshield.vlt_pct", 76)
    read(store, "opening:car/dash", "keep_clear.vents.reach", "lever")
    with store.reading() as con:
        (pane,) = claims_beside(con, "vehicle:car")
        (thing,) = claims_beside(con, "opening:car/dash")
    assert (pane.claimed, pane.value, pane.unit) == (78, 76, "pct")
    assert (thing.field, thing.claimed, thing.value) == ("keep_clear.vents.reach", None, "lever")


REFUSED: list[tuple[Any, type[InputError], str]] = [
    (("part:hv", "preout_v", 5), NotKnown, "known: hu, hu2"),
    (("part:hu", "preoutv", 5), NotKnown, "preout_v"),
    (("part:hu", "pack_of", 5), NotKnown, "no field"),
    (("part:hu", "part_id", "x"), NotKnown, "no field"),
    (("vehicle:car", "panes.roof.vlt_pct", 5), NotKnown, "no field"),
    (("vehicle:car", "panes.windshield.pane", "x"), NotKnown, "no field"),
    (("opening:car/door", "keep_clear.vents.x_mm", 5), NotKnown, "no field"),
    (("part:hu", "preout_v", "80 mm"), InputError, "mm is a unit of length"),
    (("part:hu", "preout_v", ""), InputError, "a value"),
    (("part:hu", "preout_v", "-1"), InputError, "0 or more"),
    (("part:hu", "screen", "huge"), InputError, "floating"),
    (("opening:car/dor", "depth_mm", 5), NotKnown, "car/door"),
    (("opening:door", "depth_mm", 5), InputError, "VEHICLE/OPENING"),
    (("opening:car/door", "shaft_mm", 5), NotKnown, "no field"),
    (("vehicle:cat", "charge_a", 5), NotKnown, "car"),
    (("job:jub", "clean_v", 5), NotKnown, "job"),
    (("job:job", "clean_w", 5), NotKnown, "field of job:job"),
    (("thing:x", "depth_mm", 5), InputError, "part:ID"),
    (("part:", "depth_mm", 5), InputError, "part:ID"),
]


def test_a_reading_that_is_refused(store: Store, ask: Ask) -> None:
    for reading, error, word in REFUSED:
        with pytest.raises(error) as refused:
            read(store, *reading)
        assert word in str(refused.value)
    assert ask("select count(*) from reading") == [(0,)]


@pytest.mark.parametrize(
    ("named", "word"),
    [
        ({"tol": -1}, "0 or more"),
        ({"tol": "x"}, "tolerance"),
        ({"basis": "guess"}, "caliper"),
        ({"by": "x" * 3000}, "characters"),
    ],
)
def test_invalid_terms_of_a_reading_are_refused(store: Store, named: dict[str, Any], word: str) -> None:
    with pytest.raises(InputError, match=word):
        read(store, "part:hu", "body_d_mm", 150, **named)


def test_a_word_has_no_tolerance(store: Store) -> None:
    with pytest.raises(InputError, match="no figure"):
        read(store, "part:hu", "screen", "flush", tol=1)


def test_the_latest_counts_and_none_is_lost(store: Store, ask: Ask) -> None:
    for value in ("151", "152", "153"):
        read(store, "part:hu", "body_d_mm", value)
    with store.reading() as con:
        assert [(one.value, one.counts) for one in list_readings(con, "part:hu")] == [
            ("151", False),
            ("152", False),
            ("153", True),
        ]
    assert ask("select body_d_mm from head_unit where part_id = 'hu'") == [(Decimal(153),)]
    assert ask("select body_d_mm, patched from head_unit_rows order by 1") == [(150, True), (160, False)]


def test_the_claim_stays_beside_the_reading(store: Store) -> None:
    read(store, "part:hu", "preout_v", "5.6", note="at step 45 of 50", by="Ada")
    read(store, "part:hu2", "body_d_mm", "161")
    read(store, "opening:car/door", "depth_mm", "61")
    read(store, "opening:car/door", "front_mm", "20")
    read(store, "opening:car/dash", "w_mm", "178")
    read(store, "vehicle:car", "charge_a", "55")
    read(store, "job:job", "clean_v", "5.4")
    with store.reading() as con:
        found = {
            (subject, claim.field): (claim.claimed, claim.claimed_basis, claim.value, claim.note)
            for subject in ("part:hu", "part:hu2", "opening:car/door", "opening:car/dash", "vehicle:car", "job:job")
            for claim in claims_beside(con, subject)
        }
        sheet = part_sheet(con, "hu")
    assert found == {
        ("part:hu", "preout_v"): (4, "maker", Decimal("5.6"), "at step 45 of 50"),
        ("part:hu2", "body_d_mm"): (160, "caliper", 161, None),
        ("opening:car/door", "depth_mm"): (60, "measured", 61, None),
        ("opening:car/door", "front_mm"): (None, None, 20, None),
        ("opening:car/dash", "w_mm"): (Decimal("177.8"), "maker", 178, None),
        ("vehicle:car", "charge_a"): (40, None, 55, None),
        ("job:job", "clean_v"): (None, None, Decimal("5.4"), None),
    }
    assert (sheet.figures["preout_v"], sheet.claims[0].claimed) == (Decimal("5.6"), 4)


def test_a_new_list_brings_a_new_claim_under_the_reading(store: Store, ask: Ask, tmp_path: Path) -> None:
    read(store, "part:hu", "preout_v", "5.6")
    (tmp_path / "head_units.csv").write_text(HEAD_UNIT + "hu,Mo,One,90,2,151,flush,usb,maker\n", encoding="utf-8")
    load_lists(store, [tmp_path / "head_units.csv"], "head_unit")
    assert ask("select price, preout_v, body_d_mm from head_unit where part_id = 'hu'") == [(90, Decimal("5.6"), 151)]
    with store.reading() as con:
        assert claims_beside(con, "part:hu")[0].claimed == 2


def test_a_vehicle_loaded_again_keeps_its_readings(store: Store, ask: Ask) -> None:
    read(store, "opening:car/door", "depth_mm", "61")
    with store.changing() as con:
        save_vehicle(con, json.dumps(CAR), "car.json")
        lay_over_openings(con, "car")
    assert ask("select depth_mm, depth_mm_tol from opening_speaker") == [(61, 1)]


def test_the_shops_own_tolerance_holds_for_readings(store: Store, ask: Ask) -> None:
    with store.changing() as con:
        con.execute("insert into setting values ('tolerance_mm.measured', 2.5)")
    read(store, "part:hu", "body_d_mm", "150")
    assert ask("select body_d_mm_tol from head_unit where part_id = 'hu'") == [(Decimal("2.5"),)]


@pytest.mark.parametrize(
    ("subject", "field", "claim", "table"),
    [
        ("part:hu", "body_d_mm", 150, "head_unit where part_id = 'hu'"),
        ("opening:car/door", "depth_mm", 60, "opening_speaker"),
        ("opening:car/dash", "keep_clear.vents.x_mm", 5, "keep_clear where name = 'vents'"),
        ("vehicle:car", "charge_a", 40, "vehicle"),
        ("vehicle:car", "panes.windshield.vlt_pct", 78, "pane where pane = 'windshield'"),
        ("job:job", "clean_v", None, ""),
    ],
)
def test_the_earlier_figure_counts_after_a_reading_is_voided(
    store: Store, ask: Ask, subject: str, field: str, claim: int | None, table: str
) -> None:
    def counted() -> list[str]:
        with store.reading() as con:
            counting = [one.value for one in list_readings(con, subject) if one.counts]
        held = ask(f"select {field.rpartition('.')[2]} from {table}") if table else []
        assert not (held and counting) or held == [(Decimal(counting[-1]),)]
        return counting or [str(held[0][0].normalize())] if held else counting

    read(store, subject, field, "61", sure=True, at=datetime.datetime(2026, 3, 1, tzinfo=datetime.UTC))
    read(store, subject, field, "16", sure=True)
    assert counted() == ["16"]
    void(store, 2)
    assert counted() == ["61"]
    void(store, 1)
    assert counted() == ([] if claim is None else [str(Decimal(claim).normalize())])
    read(store, subject, field, "62", sure=True)
    assert counted() == ["62"]
    with store.reading() as con:
        marks = [one.voided and (one.voided.by, one.voided.note) for one in list_readings(con, subject)]
    assert marks == [("Bo", "digits swapped"), ("Bo", "digits swapped"), None]


def void(store: Store, number: int, note: str | None = "digits swapped") -> None:
    with store.changing() as con:
        void_reading(con, number, note=note, by="Bo")


def test_a_reading_that_cannot_be_voided(store: Store) -> None:
    read(store, "part:hu", "body_d_mm", "151")
    read(store, "part:hu", "body_d_mm", "152")
    void(store, 1)
    for number, note, word in (
        (1, "again", "was voided by Bo"),
        (9, "wrong", "boltback reading list"),
        (2, None, "--note"),
        (2, "  ", "--note"),
        (2, "x" * 3000, "characters"),
    ):
        with pytest.raises(InputError) as refused:
            void(store, number, note)
        assert word in str(refused.value)
    with store.reading() as con:
        assert [one.counts for one in list_readings(con)] == [False, True]


def test_a_reading_of_a_part_that_was_withdrawn_can_be_voided(store: Store, ask: Ask, tmp_path: Path) -> None:
    read(store, "part:hu", "body_d_mm", "151")
    (tmp_path / "head_units.csv").write_text(HEAD_UNIT + ROWS.splitlines()[1] + "\n", encoding="utf-8")
    load_lists(store, [tmp_path / "head_units.csv"], "head_unit", complete=True)
    void(store, 1)
    assert ask("select count(*) from head_unit_patched") == [(0,)]


def test_a_list_of_readings(store: Store, ask: Ask, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(
        "Subject;Field;Value;tol;basis;by;at;note\n"
        'part:hu;body_d_mm;"151,5 mm";0,5;caliper;Ada;2026-03-02 10:00;second\n'
        "part:hu;body_d_mm;152;;;Ada;2026-03-01 10:00;first\n"
        "opening:car/door;behind;moving_glass;;;;;\n",
        encoding="utf-8",
    )
    assert len(load_readings(store, path)) == 3
    assert ask("select body_d_mm, body_d_mm_tol from head_unit where part_id = 'hu'") == [
        (Decimal("151.5"), Decimal("0.5"))
    ]
    assert [reading.field for reading in load_readings(store, path)] == ["behind"]  # the others stand there already


REFUSED_LISTS = [
    ("subject,field,value\npart:hu,body_d_mm,151\npart:hu,body_d_mm,deep\npart:x,body_d_mm,1\n", "2 readings"),
    ("subject,field\npart:hu,body_d_mm\n", "a column value"),
    ("subject,field,value,colour\npart:hu,body_d_mm,1,red\n", "colour"),
    ("subject,field,value,at\npart:hu,body_d_mm,1,soon\n", "soon"),
    ("subject,field,value\npart:hu,body_d_mm\n", "2 cells"),
]


def test_a_list_of_readings_that_is_refused(store: Store, ask: Ask, tmp_path: Path) -> None:
    for text, word in REFUSED_LISTS:
        (tmp_path / "readings.csv").write_text(text, encoding="utf-8")
        with pytest.raises(FileRefused) as refused:
            load_readings(store, tmp_path / "readings.csv")
        assert word in str(refused.value)
    assert ask("select count(*) from reading") == [(0,)]


def test_a_reading_with_a_time_counts_by_its_time(store: Store, ask: Ask) -> None:
    late = datetime.datetime(2026, 3, 2, tzinfo=datetime.UTC)
    read(store, "part:hu", "body_d_mm", "152", at=late)
    read(store, "part:hu", "body_d_mm", "151", at=late - datetime.timedelta(days=1))
    assert ask("select body_d_mm from head_unit where part_id = 'hu'") == [(152,)]


def test_a_question_within_another_sees_what_was_saved_in_between(store: Store) -> None:
    with store.reading() as outer:
        before = len(list_readings(outer))
        read(store, "part:hu", "preout_v", "3.9")
        with store.reading() as inner:
            assert len(list_readings(inner)) == before + 1
