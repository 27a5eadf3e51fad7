"""How a text list is written: found where its words make sense, asked where they do not, never guessed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from matcher.errors import FileRefused
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.lists.encodings import examine_text
from matcher.store.mapping.kept_maps import parse_map

Ask = Callable[..., list[tuple[Any, ...]]]
HEADER = "part_id,maker,model,price,vlt_pct"
POLISH = "głośnik, głębokość, łożysko, część, żółty, źródło"
CZECH = "výkon, hloubka, průměr, žlutý, kusů, řada"
GERMAN = "für Türen, Größe, Stück, Gehäuse, Außen Ø 112"
FRENCH = "modèle, référence, à deux voies, pièce, diamètre Ø 112"
RUSSIAN = "Динамик, глубина, мощность, ящик, объём, изделие"


@pytest.mark.parametrize(
    ("text", "written_in", "read_as"),
    [
        ("plain", "ascii", "utf-8"),
        (GERMAN, "utf-8", "utf-8"),
        (GERMAN, "utf-8-sig", "utf-8-sig"),
        (POLISH, "utf-16", "utf-16"),
        (GERMAN, "cp1252", "cp1252"),
        (FRENCH, "cp1252", "cp1252"),
        ("6½ in, 25 °C, £ 12, € 9", "cp1252", "cp1252"),
        (POLISH, "cp1250", "cp1250"),
        (CZECH, "cp1250", "cp1250"),
        (POLISH, "iso8859-2", "iso8859-2"),
        (RUSSIAN, "cp1251", "cp1251"),
        ("für Türen, Größe, Gehäuse", "mac-roman", "mac-roman"),
    ],
)
def test_an_encoding_is_the_one_in_which_the_words_make_sense(
    tmp_path: Path, text: str, written_in: str, read_as: str
) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(f"{HEADER}\na,M,{text},1,5\n".encode(written_in))
    assert examine_text(path).encoding == read_as


def test_a_polish_list_is_not_read_as_western(store: Store, tmp_path: Path, ask: Ask) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(f'{HEADER}\na,M,"{POLISH}",1,5\n'.encode("cp1250"))
    report = load_lists(store, [path], "film")
    assert ask("select model from film") == [(POLISH,)]
    assert report.warnings == [f"{path} is not UTF-8: it was read as windows-1250; --encoding names another"]


@pytest.mark.parametrize("words", [b"G\xb3o\xb6nik \xa5", b"x\x81y\x8fz"])
def test_words_that_make_sense_nowhere_are_asked(store: Store, tmp_path: Path, words: bytes) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(f"{HEADER}\na,M,".encode() + words + b",1,5\n")
    with pytest.raises(FileRefused) as refused:
        load_lists(store, [path], "film")
    assert "no one encoding makes sense" in str(refused.value)
    assert "--encoding windows-1250" in (refused.value.fix or "")
    assert load_lists(store, [path], "film", encoding="cp852").new == 1


def test_one_bad_byte_spoils_its_row_and_not_the_list(store: Store, tmp_path: Path, ask: Ask) -> None:
    path = tmp_path / "list.csv"
    rows = [f"{number},Möwe,für Türen,1,5" for number in range(4)]
    path.write_bytes("\n".join([HEADER, *rows]).encode() + b"\n9,M\xf6we,m,1,5\n")
    report = load_lists(store, [path], "film")
    assert ask("select distinct maker from film") == [("Möwe",)]
    (problem,) = report.problems
    assert (problem.line, [(fault.column, fault.found) for fault in problem.faults]) == (6, [("maker", "M�we")])
    assert "the first in line 6" in report.warnings[0]


def test_as_many_bad_bytes_as_good_ones_are_asked(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(f"{HEADER}\na,Möwe,m,1,5\n".encode() + b"b,M\xf6we,m,1,5\n")
    with pytest.raises(FileRefused, match="1 characters in UTF-8 and 1 bytes that are none, the first in line 3"):
        load_lists(store, [path], "film")
    assert load_lists(store, [path], "film", encoding="utf-8").new == 1


@pytest.mark.parametrize("name", ["rot13", "base64", "idna", "unicode_escape", "undefined", "no such", ""])
def test_a_codec_that_is_no_encoding_is_refused(store: Store, tmp_path: Path, name: str) -> None:
    path = tmp_path / "list.csv"
    path.write_text(f"{HEADER}\na,M,m,1,5\n", encoding="utf-8")
    made = parse_map(f'{{"name": "m", "family": "film", "encoding": "{name or " "}x"}}', "m.json")
    for chosen in ({"encoding": name} if name else {}, {"map_": made}):
        if chosen:
            with pytest.raises(FileRefused, match="no encoding"):
                load_lists(store, [path], None if "map_" in chosen else "film", **chosen)  # type: ignore[arg-type]


@pytest.mark.parametrize(("place", "where"), [(0, ""), (1, " in line 2")])
def test_a_list_of_a_hundred_thousand_columns_is_refused(store: Store, tmp_path: Path, place: int, where: str) -> None:
    lines = [HEADER, "a,M,m,1,5"]
    lines[place] = ",".join(f"h{number}" for number in range(100_000))
    path = tmp_path / "wide.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(FileRefused, match=rf"100,000 columns{where}\n"):
        load_lists(store, [path], "film")
