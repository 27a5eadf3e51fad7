"""An error is told at the box that it is about, with what was typed still in it."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest

from matcher.web.job_form import job_document, job_fields
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


def remark(text: str, box: str) -> str:
    """What is said at a box, with its buttons and ticks."""
    found = re.search(rf'id="{box}-remark">(.*?)</div>', text, re.S)
    assert found is not None, box
    return found[1]


@pytest.mark.parametrize(
    ("path", "box", "typed", "choices"),
    [
        ("/job?job=skua-work", "budget", "1.500", ["1500", "1.5"]),
        ("/job?job=skua-work", "tiers", "700; 1.000", ["700; 1000", "700; 1"]),
        (DOOR_PAGE, "box:depth_mm", "2 3/8", ["2 3/8 in"]),
        (DOOR_PAGE, "box:hole_w_mm", "1,250", ["1250", "1.25"]),
    ],
)
def test_an_ambiguous_value_is_asked_about_at_its_box(
    page: Page, path: str, box: str, typed: str, choices: list[str]
) -> None:
    visitor, field = page.visitor(), box.removeprefix("box:")
    before = sheet_of(visitor.get(path))[box]
    answer = visitor.post(path, sheet_of(visitor.get(path)) | {box: [typed]})
    assert (answer.status, marked(answer.text)) == (400, [box])
    offered = re.findall(rf'name="pick" value="{field}=([^"]*)"', remark(answer.text, box))
    assert set(choices) <= set(offered)
    assert sheet_of(visitor.get(path))[box] == before
    sheet = {name: values for name, values in sheet_of(answer).items() if name != "pick"}
    taken = visitor.post(path, sheet | {"pick": [f"{field}={choices[0]}"], "sure": [f"{field}={choices[0]}"]})
    assert taken.status == 200, remark(taken.text, box)
    assert sheet_of(visitor.get(path))[box] == [choices[0]]


@pytest.mark.parametrize(
    ("path", "box", "typed", "found"),
    [
        (DOOR_PAGE, "box:depth_mm", "5300", "5300 mm"),
        (CAR_PAGE, "box:panes.1.vlt_pct", "99.5", "99.5 %"),
        (CAR_PAGE, "box:electrical.system_v", "300", "300 V"),
    ],
)
def test_an_unusual_figure_is_taken_once_somebody_says_that_it_is_right(
    page: Page, path: str, box: str, typed: str, found: str
) -> None:
    visitor, field = page.visitor(), box.removeprefix("box:")
    before = sheet_of(visitor.get(path))
    answer = visitor.post(path, before | {box: [typed]})
    assert (answer.status, marked(answer.text)) == (400, [box])
    assert f"Yes, {found} is right" in remark(answer.text, box)
    assert f'name="sure" id="{box}-sure" value="{field}={typed}"' in remark(answer.text, box)
    other = visitor.post(path, sheet_of(answer) | {box: [f"{typed}1"], "sure": [f"{field}={typed}"]})
    assert other.status == 400  # another value was said to be right
    assert visitor.post(path, sheet_of(other) | {box: [typed], "sure": [f"{field}={typed}"]}).status == 200
    assert sheet_of(visitor.get(path))[box] == [typed]
    again = visitor.post(path, sheet_of(visitor.get(path)) | {"box:notes": ["later"]})
    assert again.status == 200  # it is asked once
    assert visitor.post(path, sheet_of(again) | {box: before[box]}).status == 200


def test_an_unusual_reading_is_asked_in_its_form(page: Page) -> None:
    visitor = page.visitor()
    answer = visitor.send("/reading", **DOOR, value="5300", next="/jobs")
    assert (answer.status, marked(answer.text)) == (400, ["value-1"])
    assert "Yes, 5300 mm is right" in remark(answer.text, "value-1")
    assert visitor.send("/reading", **DOOR, value="5300", sure="value=5300", next="/jobs").status == 303
    asked = visitor.send("/reading", **DOOR, value="2 3/8", next="/jobs")
    assert 'name="pick" value="value=2 3/8 in"' in remark(asked.text, "value-1")
    assert visitor.send("/reading", **DOOR, value="2 3/8", pick="value=2 3/8 in", next="/jobs").status == 303


@pytest.mark.parametrize("name", ["left\u202etrap", "two\nlines", "to\u2066left"])
@pytest.mark.parametrize(
    ("path", "form", "box"),
    [
        ("/vehicles", {}, "label"),
        ("/jobs", {"vehicle": "tern-8"}, "label"),
        ("/vehicle/openings", {"vehicle": "skua-p", "kind": "dash"}, "new_label"),
    ],
)
def test_a_name_with_a_line_break_or_a_mark_of_direction_is_refused_at_its_box(
    page: Page, path: str, form: Mapping[str, str], box: str, name: str
) -> None:
    answer = page.visitor().send(path, **form, **{box: name})
    assert (answer.status, marked(answer.text)) == (400, [box])


NAMED = [("/job?job=skua-work", "label"), (DOOR_PAGE, "box:label"), (CAR_PAGE, "box:label")]


@pytest.mark.parametrize(("path", "box"), NAMED)
def test_a_name_in_a_sheet_is_refused_at_its_box(page: Page, path: str, box: str) -> None:
    visitor = page.visitor()
    answer = visitor.post(path, sheet_of(visitor.get(path)) | {box: ["left\u202etrap"]})
    assert (answer.status, marked(answer.text)) == (400, [box])


def test_film_and_tax_have_boxes_of_their_own() -> None:
    document = {"job_id": "j", "film_vlt_pct": 35}
    fields = job_fields(document, {})
    assert (fields["film_vlt_pct"], fields["tax"]) == ("35", "included")
    made = job_document(document, fields | {"film_vlt_pct": "20", "tax": "excluded"}, {})
    assert (made["film_vlt_pct"], made["tax"]) == ("20", "excluded")
