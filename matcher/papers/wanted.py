"""A requested figure: its place, label, and the field that stores it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from catalog_schema.fields import called
from catalog_schema.figures import unit_of_field
from catalog_schema.schemas import read_schema
from catalog_schema.units import UNITS
from catalog_schema.vehicles import OPENINGS, nested_of
from matcher.papers.dossier import Dossier

NAME = re.compile(
    r"(?P<kind>\w+):(?P<thing>.*?)\.(?P<path>(?:(?P<group>panes|keep_clear)\.(?P<item>.*)\.)?(?P<field>\w+))", re.DOTALL
)
GROUPS = {"panes": "Pane", "keep_clear": "KeepClear"}
"""Lists of a vehicle, with the model of their items."""


@dataclass(frozen=True, slots=True)
class FigureName:
    """A parsed figure name: ``kind:thing.field``, or ``kind:thing.group.item.field``."""

    kind: str
    thing: str
    item: str
    """The item of a list: a pane, something to keep clear."""
    path: str
    """Field name for `reading add`, prefixed by its list and its index."""
    field: str
    label: str
    """Its label, in English."""

    @property
    def opening_id(self) -> str:
        """The opening of the figure; empty if it has none."""
        return self.thing.partition("/")[2] if self.kind == "opening" else ""

    @property
    def unit(self) -> str:
        """The unit in its name, as typed."""
        unit = unit_of_field(self.field)
        return UNITS[unit].symbol if unit else ""

    @property
    def subject(self) -> str:
        """Its subject for `reading add`; empty if it has no readings."""
        return f"{self.kind}:{self.thing}" if self.kind else ""


def wanted(dossier: Dossier, name: str) -> FigureName:
    """Parse a figure name of an answer; figures without a part are those of the original head unit."""
    if name.startswith("vehicle."):
        name = f"vehicle:{dossier.vehicle['vehicle_id']}.{name.removeprefix('vehicle.')}"
    found = NAME.fullmatch(name)
    if found is None:
        subject, _, field = name.rpartition(".")
        return FigureName(
            "", subject, "", field, field, called(read_schema("head_unit")["properties"].get(field, {}), field)
        )
    kind, thing, field = found["kind"], found["thing"], found["field"]
    described = called(_properties(dossier, kind, thing, found["group"]).get(field, {}), field)
    return FigureName(kind, thing, found["item"] or "", found["path"], field, described)


def _properties(dossier: Dossier, kind: str, thing: str, group: str | None) -> Mapping[str, Any]:
    """Return the published fields of a figure's subject."""
    if group is not None:
        return _defined(GROUPS[group]) if group in GROUPS else {}
    if kind == "part":
        family = dossier.parts.get(thing, {}).get("family")
        properties: Mapping[str, Any] = read_schema(family)["properties"] if family else {}
        return properties
    if kind == "opening":
        opening = dossier.opening(thing.partition("/")[2])
        return _of_opening(opening["kind"]) if opening else {}
    return _defined("Electrical") | _defined("Runs")


def _of_opening(kind: str) -> dict[str, Any]:
    nested = ((field, _defined(model.__name__)) for field, model in nested_of(kind).items())
    inner = {f"{field}_{name}": cell for field, cells in nested for name, cell in cells.items()}
    return _defined(OPENINGS[kind].__name__) | inner


def _defined(model: str) -> dict[str, Any]:
    properties: dict[str, Any] = read_schema("vehicle")["$defs"][model]["properties"]
    return properties
