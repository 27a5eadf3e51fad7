"""An error is told at the box that it is about, with what was typed still in it."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from tests.web.conftest import Page
from tests.web.counters import sheet_of

DOOR = {"subject": "opening:skua-p/door", "field": "depth_mm"}
FIT = {"vehicle": "auk-e", "opening": "door", "part": "GA-SP164", "subject": "opening:auk-e/door", "field": "depth_mm"}
DOOR_PAGE, CAR_PAGE = "/opening?vehicle=skua-p&opening=door", "/vehicle?vehicle=tern-8"


def marked(text: str) -> list[str]:
    """The ids of the boxes that are marked as wrong."""
    boxes = re.findall(r"<(?:input|select|textarea)\b[^>]*>", text)
    return [box.partition(' id="')[2].partition('"')[0] for box in boxes if 'aria-invalid="true"' in box]


@pytest.mark.parametrize(
    ("path", "form", "box", "says"),
    [
        ("/vehicles", {"label": " "}, "label", "The vehicle has no name."),
        ("/vehicles", {"label": "Tern 8"}, "label", "There is a vehicle &#39;tern-8&#39; already."),
        ("/vehicle/openings", {"vehicle": "skua-p", "new_label": "", "kind": "dash"}, "new_label", "has no name"),
        ("/jobs", {"vehicle": "nowhere", "label": "x"}, "vehicle", "No vehicle &#39;nowhere&#39; in this store."),
        ("/reading", DOOR | {"value": "deep"}, "value-1", "Found “deep”; expected a length"),
        ("/reading", DOOR | {"value": ""}, "value-1", "No value for depth_mm."),
        ("/reading", DOOR | {"value": "-3"}, "value-1", "Found “-3”; expected"),
    ],
)
def test_an_error_is_at_its_box(page: Page, path: str, form: Mapping[str, str], box: str, says: str) -> None:
    answer = page.visitor().send(path, **form)
    assert answer.status == 400
    assert marked(answer.text) == [box]
    remark = re.search(rf'id="{box}-remark">(.*?)</div>', answer.text, re.S)
    assert remark is not None
    assert says in remark[1]


@pytest.mark.parametrize(
    ("path", "boxes", "expected"),
    [
        ("/job?job=skua-work", {"budget": "a lot", "tiers": "700, x", "notes": "both"}, ["budget", "tiers"]),
        (DOOR_PAGE, {"box:depth_mm": "x", "box:cut.w_mm": "-1"}, ["box:depth_mm", "box:cut.w_mm"]),
        (CAR_PAGE, {"box:panes.1.vlt_pct": "dark", "box:year": "old"}, ["box:year", "box:panes.1.vlt_pct"]),
    ],
)
def test_each_box_at_fault_is_marked(page: Page, path: str, boxes: Mapping[str, str], expected: list[str]) -> None:
    visitor = page.visitor()
    answer = visitor.post(path, sheet_of(visitor.get(path)) | {name: [text] for name, text in boxes.items()})
    assert answer.status == 400
    assert sorted(marked(answer.text)) == sorted(expected)
    for name, typed in boxes.items():
        assert sheet_of(answer)[name] == [typed]


def test_a_reading_that_cannot_be_read_is_told_in_its_own_form_in_the_bay(page: Page) -> None:
    answer = page.visitor().send("/fit/reading", **FIT, value="deep", basis="caliper")
    assert answer.status == 400
    assert len(marked(answer.text)) == 1
    assert 'value="deep"' in answer.text
    assert answer.text.count('<option value="caliper" selected>') == 1
