"""The catalog in the page: found by what one remembers, lists taken, rows mended, earlier versions brought back."""

from __future__ import annotations

import csv
import html
import io
import re
import zipfile
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from starlette.responses import Response

import data_demo
from matcher import Shop
from matcher.errors import InputError
from matcher.store.catalog.search import FigureBound
from matcher.web.waiting import PageWork, StoppedError, Tell
from tests.web.conftest import Answered, Page, Visitor

# Finding parts


@pytest.fixture(scope="module")
def shop(demo_store: Path) -> Shop:
    """The demo's shop, only looked at."""
    return Shop(demo_store)


@pytest.mark.parametrize(
    ("words", "family", "bounds", "found"),
    [
        ("00146", None, [], {"00146"}),
        ("EBB fulmarsk 52", None, [], {"00139"}),
        ("no such thing", None, [], set()),
        ("00139", "speaker", [FigureBound("depth_mm", "", "1000")], {"00139"}),
        ("00139", "speaker", [FigureBound("depth_mm", "1000", "")], set()),
        ("00139", "amplifier", [], set()),
    ],
)
def test_parts_are_found(
    shop: Shop, words: str, family: str | None, bounds: list[FigureBound], found: set[str]
) -> None:
    assert {part.part_id for part in shop.catalog.find(words, family, bounds=bounds)} == found


def test_page_after_page_gives_every_part_once(shop: Shop) -> None:
    every, after = [], ""
    while page := [part.part_id for part in shop.catalog.find("", after=after, limit=37)]:
        every += page
        after = page[-1]
    assert every == sorted(set(every))
    assert len(every) == sum(holding.parts for holding in shop.catalog.holdings())


def test_a_bound_is_exact_and_leaves_the_unknown_out(shop: Shop) -> None:
    depths = {
        part.part_id: shop.catalog.part(part.part_id).figures.get("depth_mm")
        for part in shop.catalog.find("ebb", "speaker")
    }
    limit = sorted(depth for depth in depths.values() if depth is not None)[3]
    found = shop.catalog.find("ebb", "speaker", bounds=[FigureBound("depth_mm", "", str(limit))])
    assert {part.part_id for part in found} == {name for name, depth in depths.items() if depth and depth <= limit}


@pytest.mark.parametrize(
    ("family", "bound"),
    [
        (None, FigureBound("depth_mm", "1")),
        ("speaker", FigureBound("nothing", "1")),
        ("speaker", FigureBound('price" or 1=1 --', "1")),
        ("speaker", FigureBound("depth_mm", "deep")),
        ("rowboat", FigureBound("depth_mm", "1")),
    ],
)
def test_an_invalid_bound_is_refused(shop: Shop, family: str | None, bound: FigureBound) -> None:
    with pytest.raises(InputError):
        shop.catalog.find("", family, bounds=[bound])


# Lists


def upload(visitor: Visitor, name: str, data: bytes, **fields: str) -> Answered:
    """Send a list as a browser does."""
    token = visitor.get("/name").token
    mark = "----list"
    parts = [f'--{mark}\r\nContent-Disposition: form-data; name="{n}"\r\n\r\n{v}\r\n' for n, v in fields.items()]
    parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="token"\r\n\r\n{token}\r\n')
    head = f'--{mark}\r\nContent-Disposition: form-data; name="list"; filename="{name}"\r\n\r\n'
    body = "".join([*parts, head]).encode() + data + f"\r\n--{mark}--\r\n".encode()
    return visitor.post("/catalog/send", body, Content_Type=f"multipart/form-data; boundary={mark}")


def films(*rows: tuple[str, Any]) -> bytes:
    """A list of films: part number and transmittance."""
    out = io.StringIO()
    csv.writer(out).writerows(
        [("part_id", "maker", "model", "price", "vlt_pct"), *((n, "U", "F", 9, v) for n, v in rows)]
    )
    return out.getvalue().encode()


def test_a_list_is_looked_at_loaded_mended_and_taken_back(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    before = shop.catalog.history()[-1].version
    sent = upload(visitor, "../../tmp/my films.csv", films(("UF-1", 35), ("UF-2", "dark")), family="film")
    look = visitor.get(sent.headers["location"])
    assert "3 lines: 1 would be loaded" in look.text
    assert "dark" in look.text
    assert shop.catalog.history()[-1].version == before  # looking loads nothing

    form = {"token": look.token, "key": look.value_of("key"), "family": "film", "do": "load"}
    assert "1 new" in visitor.post("/catalog/list", form).text
    assert shop.catalog.history()[-1].files == ("my films.csv",)

    [kept] = [kept for kept in shop.catalog.problems() if kept.row.part_id == "UF-2"]
    sheet = visitor.get(f"/catalog/problem?problem={kept.problem_id}")
    assert 'value="dark"' in sheet.text
    cells = {f"box:{name}": text for name, text in kept.row.fields.items()} | {"box:family": "film", "do": "load"}
    form = {"token": sheet.token, "problem": kept.problem_id} | cells
    assert visitor.post("/catalog/problem", form | {"box:vlt_pct": "darker"}).status == 400
    [kept] = [kept for kept in shop.catalog.problems() if kept.row.part_id == "UF-2"]  # it is kept as it is now
    form = form | {"problem": kept.problem_id, "box:vlt_pct": "20"}
    assert visitor.post("/catalog/problem", form).status == 303
    assert shop.catalog.part("UF-2").figures["vlt_pct"] == 20
    assert [kept for kept in shop.catalog.problems() if kept.row.part_id == "UF-2"] == []

    latest = shop.catalog.history()[-1].version
    assert visitor.send("/catalog/history", version=before, latest=before).status == 400  # not what it saw
    assert visitor.send("/catalog/history", version=before, latest=latest).status == 303
    assert shop.catalog.find("UF-") == []


def test_an_unclear_column_is_chosen_below_the_list(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    data = "Art-Nr;Marke;Bezeichnung;Preis;Größe;Ohm;Leistung;Tiefe mm\nX1;Ulvo;One;12,50;165 mm;4;50 W;61\n".encode()
    look = visitor.get(upload(visitor, "preise.csv", data, family="speaker").headers["location"])
    assert "Questions to answer first: 1" in look.text
    assert 'name="column:Leistung"' in look.text
    form = {"token": look.token, "key": look.value_of("key"), "family": "speaker", "column:Leistung": "rms_w"}
    again = visitor.post("/catalog/list", form | {"do": "look"})
    assert "2 lines: 1 would be loaded" in again.text
    assert '<option value="rms_w" selected>' in again.text  # what was chosen is not lost
    assert "1 new" in visitor.post("/catalog/list", form | {"do": "load"}).text
    assert (shop.catalog.part("X1").figures["rms_w"], shop.catalog.part("X1").figures["depth_mm"]) == (50, 61)


def bomb() -> bytes:
    """A spreadsheet that unpacks to far more than its size."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("bomb.xlsx", bomb(), "unpacks to"),
        ("run.exe", b"MZ", "no list"),
        ("empty.csv", b"", "empty"),
        ("", b"x", "no list was sent"),
    ],
)
def test_a_file_that_is_no_list_is_refused(page: Page, name: str, data: bytes, says: str) -> None:
    visitor = page.visitor()
    answer = upload(visitor, name, data, family="film")
    if answer.status == 303:
        answer = visitor.get(answer.headers["location"])
    assert answer.status == 400
    assert says in answer.text


@pytest.mark.parametrize("key", ["", "..", "../../etc", "0" * 32, "a" * 31 + "/"])
def test_no_list_is_reached_by_a_guess(page: Page, key: str) -> None:
    assert page.visitor().send("/catalog/list", key=key, do="look").status == 404


def test_the_demos_own_lists_are_taken(page: Page) -> None:
    [path] = data_demo.lists()["enclosure"]
    visitor = page.visitor()
    look = visitor.get(upload(visitor, path.name, path.read_bytes(), family="enclosure").headers["location"])
    assert "would be loaded" in look.text


def test_a_row_is_mended_in_the_list_of_rows(page: Page) -> None:
    visitor = page.visitor()
    rows = visitor.get("/catalog/problems").text.split("<li><div>")
    row = next(one for one in rows if "GU-HU031" in one)
    boxes = dict(re.findall(r'name="(box:\w+)" value="([^"]*)"', row))
    path = html.unescape(re.findall(r'action="([^"]*)"', row)[0])
    assert boxes["box:price"] == "on request"
    assert visitor.send(path, **boxes | {"box:price": "129.90", "problem": path.partition("=")[2]}).status == 303
    assert Shop(page.store).catalog.part("GU-HU031").figures["price"] > 0
    assert "GU-HU031" not in visitor.get("/catalog/problems").text


def test_a_list_that_is_being_read_shows_how_far_it_is_and_can_be_stopped() -> None:
    told, go_on = Event(), Event()

    def read(tell: Tell) -> Response:
        tell("reading orme.csv")
        told.set()
        go_on.wait(60)
        tell("comparing speaker")
        raise AssertionError("it went on")

    work = PageWork(read)
    assert told.wait(60)
    assert (work.looking, work.future.done()) == ("reading orme.csv", False)
    work.stop()
    go_on.set()
    with pytest.raises(StoppedError):
        work.future.result(60)
