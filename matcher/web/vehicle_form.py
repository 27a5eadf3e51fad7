"""A vehicle and its openings as forms, generated from the published schema."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from starlette.datastructures import FormData

from catalog_schema.documents import item_place
from catalog_schema.notation import EITHER, Notation, settled_cell
from catalog_schema.schemas import read_schema
from catalog_schema.units import UNITS
from catalog_schema.vehicles import OPENINGS, nested_of
from matcher.lengths import in_shop_unit, with_unit
from matcher.web.form_edit import Fields
from matcher.web.job_form import figure_text
from matcher.web.pages import single
from matcher.web.wording import sign, text

SCHEMA = read_schema("vehicle")
HEAD = ("label", "year", "body", "notes")
GROUPS = ("electrical", "runs")
LISTS = {"panes": "Pane", "no_fasten": "NoFasten", "keep_clear": "KeepClear"}
"""Lists of things with their own fields; each has an empty row for another one."""
FREE_ROWS = 1
FIXED = frozenset({"opening_id", "kind"})
FIRST = {
    "dash": ("shape", "w_mm", "h_mm", "depth_mm", "proud_max_mm"),
    "speaker": ("shape", "hole_w_mm", "hole_h_mm", "bolt_circle_mm", "bolt_count", "depth_mm", "front_mm", "behind"),
    "cargo": ("w_mm", "h_mm", "d_mm", "d_top_mm", "gate_w_mm", "gate_h_mm"),
    "amp_spot": ("w_mm", "h_mm", "d_mm"),
    "control_spot": ("w_mm", "h_mm", "d_mm"),
}
"""The most important figures of each kind of opening, in the order of measuring."""
IN_PLACE_OF = {"bolt_circle_mm": "bolt_w_mm", "bolt_count": "bolt_h_mm"}
"""Figures of a bolt circle, and the equivalent ones of a bolt rectangle."""


@dataclass(frozen=True, slots=True)
class FormBox:
    """One box of a form."""

    name: str
    says: str
    unit: str
    choices: tuple[str, ...]
    is_long: bool = False
    default: str = ""
    """Default if nothing is stated."""
    hint: str = ""
    """Name of the measure if the label is ambiguous."""


@dataclass(frozen=True, slots=True)
class Group:
    """A group of boxes."""

    name: str
    boxes: list[FormBox]
    row: int | None = None
    """Index in a list."""


def box_of(name: str, field: Mapping[str, Any]) -> FormBox:
    """A box for a field of a published schema."""
    choices = tuple(str(choice) for choice in field.get("enum", ()) if choice is not None)
    if not choices and "boolean" in (field.get("type") or ()) and "unit" not in field:
        named = "string" in field["type"] and name.rpartition(".")[2] in ("fasten", "air", "reach")
        choices = () if named else ("yes", "no")
    plain = name.rpartition(".")[2]
    label, described = str(field["label"]), str(field.get("description", "")).rstrip(".").replace("``", "")
    says, default = f"{label[:1].upper()}{label[1:]}", figure_text(field.get("default"))
    hint = described if plain != "notes" and _words_of(described) - _words_of(label) else ""
    return FormBox(name, says, sign(UNITS[field.get("unit", "n")].symbol), choices, plain == "notes", default, hint)


def _words_of(text: str) -> set[str]:
    return set(text.casefold().split()) - {"of", "the", "a", "its", "it", "was", "free"}


def _boxes(definition: str, prefix: str = "", leave: frozenset[str] = frozenset()) -> list[FormBox]:
    fields = SCHEMA["$defs"][definition]["properties"] if definition else SCHEMA["properties"]
    return [
        box_of(f"{prefix}{name}", field)
        for name, field in fields.items()
        if name not in leave and not _is_nested(field)
    ]


def _is_nested(field: Mapping[str, Any]) -> bool:
    nested = (field.get("items"), *(field.get("anyOf") or ()), field)
    return any("$ref" in one for one in nested if isinstance(one, Mapping))


def head_groups(document: Mapping[str, Any]) -> list[Group]:
    """Return the form of a vehicle without its openings."""
    top = [box_of(name, SCHEMA["properties"][name]) for name in HEAD]
    groups = [Group("vehicle", top)]
    groups += [Group(name, _boxes(name.capitalize(), f"{name}.")) for name in GROUPS]
    for name in ("panes", "no_fasten"):
        groups += _rows(name, document)
    return groups


def recommended(opening: Mapping[str, Any]) -> list[str]:
    """Return the figures of an opening that decide most: one diameter of a round hole, bolts as they are given."""
    named = FIRST[str(opening["kind"])]
    if opening.get("bolt_circle_mm") is None and opening.get("bolt_w_mm") is not None:
        named = tuple(IN_PLACE_OF.get(name, name) for name in named)
    return [name for name in named if not (name == "hole_h_mm" and _is_round(opening))]


def _is_round(opening: Mapping[str, Any]) -> bool:
    return opening.get("shape") == "round" and opening.get("hole_h_mm") is None


def opening_groups(opening: Mapping[str, Any]) -> list[Group]:
    """Return the form of an opening: main figures, others, cut, factory equipment, things to keep in reach."""
    kind = str(opening["kind"])
    model = OPENINGS[kind]
    boxes = {box.name: box for box in _boxes(model.__name__, leave=FIXED)}
    if kind == "speaker" and _is_round(opening):
        boxes["hole_w_mm"] = replace(boxes["hole_w_mm"], says=text("box.diameter"), hint="")
        del boxes["hole_h_mm"]
    first = [boxes.pop(name) for name in recommended(opening)]
    groups = [Group("opening", first), Group("opening_rest", list(boxes.values()))]
    groups += [Group(name, _boxes(nested.__name__, f"{name}.")) for name, nested in nested_of(kind).items()]
    return groups + (list(_rows("keep_clear", opening)) if kind == "dash" else [])


def _rows(name: str, document: Mapping[str, Any]) -> Iterator[Group]:
    for row in range(len(document.get(name) or ()) + FREE_ROWS):
        yield Group(name, _boxes(LISTS[name], f"{name}.{row}."), row)


def fields_of(document: Mapping[str, Any], groups: list[Group]) -> Fields:
    """Return a document as the fields of its form."""
    return {box.name: figure_text(_cell(document, box)) for group in groups for box in group.boxes}


def _cell(document: Mapping[str, Any], box: FormBox) -> Any:
    cell = _look(document, box.name)
    return in_shop_unit(cell) if box.unit == "in" else cell


def labels_of(groups: list[Group]) -> dict[str, str]:
    """Return the label of each field of a form."""
    return {box.name: box.says for group in groups for box in group.boxes}


def places_of(document: Mapping[str, Any], groups: list[Group], within: str = "") -> dict[str, str]:
    """Return the field for each place of the document that errors name."""
    return {_place(document, box.name, within): box.name for group in groups for box in group.boxes}


def _place(document: Any, name: str, within: str) -> str:
    found, place = document, within
    for step in name.split("."):
        if isinstance(found, list):
            item = found[int(step)] if int(step) < len(found) else {}
            found, place = item, item_place(place, item, int(step))
        else:
            found, place = (found or {}).get(step), f"{place}.{step}" if place else step
    return place


def _look(document: Mapping[str, Any], name: str) -> Any:
    found: Any = document
    for step in name.split("."):
        if isinstance(found, list):
            found = found[int(step)] if int(step) < len(found) else None
        else:
            found = (found or {}).get(step)
    return found


def typed_fields(form: FormData) -> Fields:
    """Return the values typed into a form with boxes named ``box:...``."""
    names = (name.removeprefix("box:") for name in form if name.startswith("box:"))
    return {name: single(form, f"box:{name}") for name in names}


def written(
    document: Mapping[str, Any], fields: Mapping[str, Any], groups: list[Group], notation: Notation = EITHER
) -> dict[str, Any]:
    """Return the document with changed fields written into it; a row without a name is removed."""
    made: dict[str, Any] = copy.deepcopy(dict(document))
    before = fields_of(document, groups)
    units = {box.name: box.unit for group in groups for box in group.boxes if box.unit}
    for name, typed in fields.items():
        if typed != before.get(name, ""):
            _write(
                made,
                name.split("."),
                settled_cell(with_unit(typed, units[name]), notation) if name in units else typed or None,
            )
    for name in LISTS:
        if name in made:
            made[name] = [row for row in made[name] or () if any(cell is not None for cell in row.values())]
    for name in ("cut", "original"):
        if made.get(name) is not None and not any(cell is not None for cell in made[name].values()):
            made[name] = None
    return made


SAFE_NAME = re.compile(r"[a-z0-9_]{1,40}")


def _write(made: dict[str, Any], steps: list[str], cell: Any) -> None:
    """Write a cell at its place; a list grows by the row written."""
    name, *rest = steps
    if not SAFE_NAME.fullmatch(name):
        return
    if not rest:
        made[name] = cell
    elif re.fullmatch("[0-9]{1,4}", rest[0]):
        rows = made[name] = list(made.get(name) or ())
        if int(rest[0]) == len(rows):
            rows.append({})
        if int(rest[0]) < len(rows):
            _write(rows[int(rest[0])], rest[1:], cell)
    else:
        made[name] = dict(made.get(name) or {})
        _write(made[name], rest, cell)
