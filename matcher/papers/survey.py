"""What is not known of a car at the places that a job asks for, in the order in which one walks around it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from catalog_schema.columns import Column, columns_of
from catalog_schema.kinds import ChoiceKind, FigureKind, FlagKind
from catalog_schema.vehicles import OPENINGS

ASKED = {"head_unit": ("dash",), "bass": ("cargo", "amp_spot")}
"""By what a job asks for beside openings: the kinds of opening that it needs."""
POWER = ("system_v", "ground", "battery_to_cargo_m")
"""Figures of the car itself without which no part with a plug can be judged."""
ONLY_ROUND = frozenset({"bolt_circle_mm"})
NOT_ROUND = frozenset({"hole_h_mm", "bolt_w_mm", "bolt_h_mm"})


def unknown_figures(job: Mapping[str, Any], vehicle: Mapping[str, Any]) -> list[str]:
    """The unknown figures of the openings that a job asks for and of the car's supply, as readings name them."""
    name = vehicle["vehicle_id"]
    places = [one for one in vehicle["openings"] if _is_asked(job, one)]
    found = [
        f"opening:{name}/{place['opening_id']}.{column.name}" for place in places for column in _open_columns(place)
    ]
    return found + [f"vehicle:{name}.{field}" for field in POWER if vehicle.get(field) is None]


def _is_asked(job: Mapping[str, Any], opening: Mapping[str, Any]) -> bool:
    kinds = [kind for name in job["choose"] for kind in ASKED.get(name, ())]
    return opening["opening_id"] in job["choose"] or opening["kind"] in kinds


def _open_columns(opening: Mapping[str, Any]) -> Iterator[Column]:
    """The figures and words of an opening that are not known and that its shape has."""
    shape = opening.get("shape")
    idle = {"round": NOT_ROUND, "oval": ONLY_ROUND, "square": ONLY_ROUND}.get(str(shape), frozenset())
    idle |= frozenset() if shape == "twin_shaft" else {"shaft_mm"}
    for column in columns_of(OPENINGS[opening["kind"]]):
        measured = isinstance(column.kind, FigureKind | ChoiceKind | FlagKind)
        if measured and opening.get(column.name) is None and column.name not in idle and column.name != "basis":
            yield column
