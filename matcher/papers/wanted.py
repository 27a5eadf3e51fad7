"""A requested figure: its place, label, and the field that stores it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from catalog_schema.figure_labels import field_label
from catalog_schema.figures import unit_of_field
from catalog_schema.parts import FAMILIES
from catalog_schema.units import UNITS
from catalog_schema.vehicles import OPENINGS
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
        return FigureName("", subject, "", field, field, field_label(field, ["HeadUnit"]))
    kind, thing, field = found["kind"], found["thing"], found["field"]
    label = field_label(field, _models(dossier, kind, thing, found["group"]))
    return FigureName(kind, thing, found["item"] or "", found["path"], field, label)


def _models(dossier: Dossier, kind: str, thing: str, group: str | None) -> tuple[str, ...]:
    """Return the names of the models of a figure's subject."""
    if group is not None:
        return (GROUPS.get(group, ""),)
    if kind == "part":
        family = dossier.parts.get(thing, {}).get("family")
        return (FAMILIES[family].__name__, "Part") if family else ()
    if kind == "opening":
        opening = dossier.opening(thing.partition("/")[2])
        return (OPENINGS[opening["kind"]].__name__,) if opening else ()
    return ("Electrical", "Runs")
