"""The database and the kinds read a cell to the same value, or the database leaves it to the kind."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.figures import Figure
from catalog_schema.kinds import FieldError
from catalog_schema.notation import EITHER, Notation
from catalog_schema.parts import FAMILIES
from matcher.store.lists.cells import fast_cell, typed_as
from matcher.store.lists.encodings import examine_text
from matcher.store.lists.headers import Target
from matcher.store.lists.listing import DirectCsv, encode_cell

COLUMNS: dict[str, TableColumn] = {column.name: column for family in FAMILIES for column in family_columns(family)}
DIGITS = st.text("0123456789", min_size=1, max_size=12)
NUMBERS = st.one_of(
    st.decimals(-30_000, 30_000, places=7).map(lambda number: f"{number:f}"),
    st.integers(-10, 10**10).map(str),
    st.builds("{}.{}".format, DIGITS, DIGITS),
    st.builds("{}{}{}".format, DIGITS, st.sampled_from([".", ",", "_", "e", "e-", " ", "+", "/", "-", "'"]), DIGITS),
)
WORDS = [str(word) for column in COLUMNS.values() for word in getattr(column.kind, "choices", ())]
TEXTS = st.one_of(
    NUMBERS,
    st.sampled_from([*WORDS, "yes", "No", "TRUE", "x", "tow;glass", "tow; glass", "tow;tow", "usb;dab", "", " ", "\t"]),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    st.builds("{}{}".format, st.sampled_from(["+", "-", " ", "0", "00"]), NUMBERS),
    st.builds("{}{}".format, NUMBERS, st.sampled_from([" mm", ".", " ", "\t", "%", '"', "\x00"])),
)


def by_kind(column: TableColumn, text: str, notation: Notation = EITHER) -> Any:
    """The kind's value, or the error it refuses with."""
    try:
        value = column.kind.read(text, notation)
    except FieldError as error:
        return error
    if isinstance(value, Figure):
        return value.value if value.tol is None and value.basis is None else value
    return list(value) if isinstance(value, tuple) else value


BY_KIND = {column.kind: name for name, column in COLUMNS.items()}


@pytest.mark.parametrize("name", sorted(BY_KIND.values()))
@example(texts=["-20000", "-20001", "20000", "20001"])  # a place has no bound of its own downwards
@given(texts=st.lists(TEXTS, min_size=1, max_size=40))
@settings(max_examples=8, deadline=None)
def test_a_text_that_the_database_takes_is_read_by_its_kind_to_the_same(name: str, texts: list[str]) -> None:
    column = COLUMNS[name]
    fast = fast_cell(Target(0, column), "c0", marked=True, typed=False)
    with duckdb.connect() as con:
        rows = con.execute(
            f"select i, {fast.value}, {fast.taken} "
            "from (select unnest($1::varchar[]) as c0, unnest($2::integer[]) as i)",
            [[encode_cell(text) for text in texts], list(range(len(texts)))],
        ).fetchall()
    for place, value, taken in rows:
        if taken:
            assert by_kind(column, texts[place]) == value, texts[place]


LOOSE = st.one_of(
    NUMBERS,
    st.builds(
        "{}{}{}".format,
        st.sampled_from(["", "+", "-", " ", "+ ", "00"]),
        NUMBERS,
        st.sampled_from(["", " ", ".", "e1"]),
    ),
    st.text(st.sampled_from("0123456789.,_eE+- \t\u0663"), max_size=8),
)


@given(texts=st.lists(LOOSE, min_size=1, max_size=30), name=st.sampled_from(["depth_mm", "price", "stock", "rms_w"]))
@settings(max_examples=150, deadline=None)
def test_a_number_that_the_database_converts_is_read_by_its_kind_to_the_same(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str], name: str
) -> None:
    column = COLUMNS[name]
    target = Target(0, column)
    path = tmp_path_factory.mktemp("typed") / "numbers.csv"
    path.write_text("".join(f"{text};{place}\n" for place, text in enumerate(texts)), encoding="utf-8")
    if not examine_text(path).strict:
        return  # such a list is read as text
    direct = DirectCsv(path, 2, ";", 0, len(texts))
    fast = fast_cell(target, "c0", marked=False, typed=True)
    types = {0: typed_as(target) or "", 1: "INTEGER"}
    with duckdb.connect() as con:
        rows = con.execute(f"select c1, {fast.value}, {fast.taken} from {direct.typed(types)}").fetchall()
    for place, value, taken in rows:
        if taken:
            # A column is converted only in a list whose decimal mark is the point.
            assert by_kind(column, texts[place], Notation("point")) == value, texts[place]


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("depth_mm", "61.5", Decimal("61.5")),
        ("depth_mm", "+5", Decimal(5)),
        ("forward_mm", "-12.25", Decimal("-12.25")),
        ("price", "129.90", Decimal("129.90")),
        ("stock", "007", 7),
        ("shape", "oval", "oval"),
        ("own_battery", "yes", True),
        ("own_battery", "no", False),
        ("covers", "tow;glass", ["tow", "glass"]),
        ("part_id", "00123", "00123"),
        ("notes", "two words", "two words"),
    ],
)
def test_plain_cells_are_taken_by_the_database(name: str, text: str, value: Any) -> None:
    fast = fast_cell(Target(0, COLUMNS[name]), "c0", marked=True, typed=False)
    with duckdb.connect() as con:
        assert con.execute(f"select {fast.value}, {fast.taken} from (select $1 as c0)", [text]).fetchall() == [
            (value, True)
        ]


@pytest.mark.parametrize(
    ("content", "strict"),
    [
        (b"a,b\n1.5,2\n", True),
        (b"a,b\n1.,2\n", False),
        (b"a,b\n1_000,2\n", False),
        (b"a_4,b\n1,2\n", True),
        (b"a,b\n0e000,2\n", False),
        (b"a,b\n1E5,2\n", False),
        (b"a,b\nthree,2\n", True),
        (b"a,b\n1,2.", False),
        (b"a,b\n" + b"1" * ((1 << 20) - 5) + b".\n5,1\n", False),
        (b"a,b\n" + b"1\n" * ((1 << 19) - 3) + b"1.5\n", True),
    ],
)
def test_numbers_that_only_the_database_takes_are_seen(tmp_path: Path, content: bytes, strict: bool) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(content if len(content) < 1000 else content.replace(b"1" * 100, b"1\n" * 50))
    assert examine_text(path).strict is strict
