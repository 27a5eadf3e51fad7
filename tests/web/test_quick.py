"""The quick check on the page: typed figures, a verdict, nothing stored."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from urllib.parse import urlencode

import pytest

from matcher import Shop
from matcher.settings import DEFAULTS
from tests.web.conftest import Page

FIVE = {
    "box:part.cutout_w_mm": "127",
    "box:part.depth_mm": "60",
    "box:opening.hole_w_mm": "130",
    "box:opening.depth_mm": "70",
    "box:opening.behind": "fixed",
}


@pytest.mark.parametrize(
    ("typed", "status", "words"),
    [
        ({}, 200, ["Fits, as far as known", "3 mm to spare", "stamp measure", "<svg"]),
        ({"box:opening.depth_mm": "55"}, 200, ["Does not fit, as far as known", "8 mm short", "stamp no"]),
        ({"box:part.depth_mm": "deep"}, 400, ["Found “deep”"]),
        ({"box:opening.depth_mm": "9000"}, 400, ["sure"]),
        ({"box:opening.depth_mm": "9000", "sure": "opening.depth_mm=9000"}, 200, ["Fits, as far as known"]),
        ({"family": "amplifier"}, 400, ["no field"]),
        ({"family": "nothing", "step": "saw"}, 200, ["Fits, as far as known"]),
    ],
)
def test_figures_typed_in_are_checked_and_not_stored(
    page: Page, typed: dict[str, str], status: int, words: list[str]
) -> None:
    before = page.store.read_bytes()
    answer = page.visitor().get("/quick?" + urlencode(FIVE | typed))
    assert answer.status == status, answer.text[:500]
    assert [word for word in words if word not in answer.text] == []
    assert page.store.read_bytes() == before


@pytest.mark.parametrize("family", ["speaker", "head_unit", "amplifier", "enclosure"])
def test_every_kind_has_its_boxes(page: Page, family: str) -> None:
    text = page.visitor().get(f"/quick?family={family}").text
    assert 'name="box:part.' in text
    assert 'name="box:opening.' in text


def test_a_quick_check_is_kept_from_the_page(page: Page) -> None:
    visitor = page.visitor()
    assert visitor.send("/quick/part", **FIVE).status == 400
    named = {"box:part.part_id": "Q1", "box:part.maker": "Orme", "box:part.model": "X", "box:part.price": "60"}
    rest = {"box:part.size": "130 mm", "box:part.impedance_ohm": "4", "box:part.rms_w": "40", "box:part.shape": "round"}
    assert visitor.send("/quick/part", **FIVE | named | rest).headers["location"] == "/part?part=Q1"
    assert "a number that no part has" in visitor.send("/quick/part", **FIVE | named | rest).text
    kept = visitor.send("/quick/car", **FIVE | {"box:car": "Gull, blue", "box:place": "Left door"})
    assert kept.headers["location"] == "/opening?vehicle=gull-blue&opening=left-door"


def test_a_thing_is_archived_from_its_page_and_brought_back(page: Page) -> None:
    visitor, subject = page.visitor(), "opening:tern-8/dash-top"
    assert "the job tern-nocut, which names it" in visitor.get(f"/archive?subject={subject}").text
    assert visitor.send("/archive", subject=subject, do="archive", note="gone").status == 303
    assert subject in visitor.get("/archive").text
    assert visitor.get("/opening?vehicle=tern-8&opening=dash-top").headers["location"].startswith("/archive?subject=")
    assert "dash-top" not in visitor.get("/vehicle?vehicle=tern-8").text
    assert "do.dash-top" in visitor.get("/job?job=tern-nocut").text  # which names it
    assert visitor.send("/archive", subject=subject, do="delete").status == 400
    assert visitor.send("/archive", subject=subject, do="unarchive").status == 303
    assert visitor.get("/opening?vehicle=tern-8&opening=dash-top").status == 200
    assert visitor.send("/archive", subject=subject, do="unarchive").status == 400


def test_every_setting_is_set_and_unset_from_the_page(page: Page) -> None:
    visitor, name = page.visitor(), "clearance_behind_mm.fixed"
    for typed, kept in (("4.5", Decimal("4.5")), ("", DEFAULTS[name].value)):
        assert visitor.send("/start", **{name: typed}).status == 303
        assert Shop(page.store).settings()[name] == kept
    refused = visitor.send("/start", **{name: "wide"})
    assert refused.status == 400
    assert f'id="{name}-remark"><p>' in refused.text


def test_a_supplier_s_terms_are_given_by_a_form(page: Page, tmp_path: Path) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    orme_csv = tmp_path / "orme.csv"
    orme_csv.write_text("part_id,family,maker,model,price,vlt_pct\nF1,film,Orme,F,20,30\n", encoding="utf-8")
    shop.catalog.load(orme_csv, supplier="Orme")
    assert "/catalog/supplier?supplier=Orme" in visitor.get("/catalog").text
    terms = {"supplier": "Orme", "price_is": "cost", "with_tax": "without", "currency": ""}
    wrong = visitor.send("/catalog/supplier", **terms, markup_pct="much")
    assert (wrong.status, 'id="markup_pct-remark"><p>' in wrong.text) == (400, True)
    foreign = visitor.send("/catalog/supplier", **terms | {"currency": "SEK", "markup_pct": "40"})
    assert (foreign.status, 'id="rate-remark"><p>' in foreign.text) == (400, True)
    assert visitor.send("/catalog/supplier", **terms, markup_pct="40").status == 303
    (orme,) = (one for one in shop.catalog.suppliers() if one.name == "Orme")
    assert (orme.terms.price_is, orme.terms.markup_pct) == ("cost", 40)


def test_the_customer_s_own_parts_are_given_by_a_form(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    shop.jobs.new("own", "tern-8", {})
    assert visitor.get("/owned?job=own&family=amplifier").status == 200
    brought = {"job": "own", "box:part_id": "A1", "box:condition": "scratched", "box:pieces": "1"}
    unlisted = visitor.send("/owned", **brought)
    assert (unlisted.status, "box:part_id-remark" in unlisted.text) == (400, True)
    typed = brought | {"family": "amplifier", "box:figures.full_channels": "4", "box:figures.w_mm": "wide"}
    wrong = visitor.send("/owned", **typed)
    assert (wrong.status, 'id="box:figures.w_mm-remark"><p>' in wrong.text) == (400, True)
    assert visitor.send("/owned", **typed | {"box:figures.w_mm": "200"}).status == 303
    (kept,) = shop.jobs.document("own").document["owned"]
    assert (kept["part_id"], kept["family"], kept["condition"], kept["figures"]["w_mm"]) == (
        "A1",
        "amplifier",
        "scratched",
        "200",
    )
    assert visitor.send("/owned", job="own", gone="A1").status == 303
    assert not shop.jobs.document("own").document["owned"]
