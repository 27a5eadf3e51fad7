"""Readings on the sheets of parts, openings and vehicles: beside the claim, and voided there."""

from __future__ import annotations

import pytest

from matcher import Shop
from tests.web.conftest import Page


@pytest.mark.parametrize(
    ("subject", "field", "sheet"),
    [
        ("part:00146", "depth_mm", "/part?part=00146"),
        ("opening:skua-p/door", "depth_mm", "/opening?vehicle=skua-p&opening=door"),
        ("vehicle:skua-p", "charge_a", "/vehicle?vehicle=skua-p"),
    ],
)
def test_a_wrong_reading_is_voided_on_its_sheet(page: Page, subject: str, field: str, sheet: str) -> None:
    reading = Shop(page.store).readings.add(subject, field, 66, by="Ada", sure=True)
    visitor = page.visitor()
    assert "This is wrong" in visitor.get(sheet).text
    wrong = {"number": reading.reading_id, f"note-{reading.reading_id}": "<b>swapped</b>", "next": sheet}
    sent = visitor.send("/reading/void", **wrong)
    assert (sent.status, sent.headers["location"]) == (303, sheet)
    shown = visitor.get(sheet).text
    assert "&lt;b&gt;swapped&lt;/b&gt;" in shown
    assert "This is wrong" not in shown
    assert visitor.send("/reading/void", **wrong).status == 400
    assert visitor.send("/reading/void", number="x", next=sheet).status == 400
