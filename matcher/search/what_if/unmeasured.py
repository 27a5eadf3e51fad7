"""Openings not measured yet: a figure is unknown there that every part needs, so nothing is sure to fit."""

from __future__ import annotations

from matcher.search.catalog.catalog import Catalog
from matcher.search.question import JobQuestion

NEEDED = {
    "dash": frozenset({"depth_mm"}),
    "speaker": frozenset({"depth_mm", "front_mm", "beside_mm"}),
    "amp_spot": frozenset({"w_mm", "d_mm", "h_mm"}),
    "cargo": frozenset({"w_mm", "d_mm", "h_mm", "d_top_mm", "gate_w_mm", "gate_h_mm"}),
}
"""Figures of an opening by its kind that every part there needs enough of."""
ONE_WAY = NEEDED | {"cargo": NEEDED["cargo"] - {"h_mm"}}
"""Those of which more is never worse: where the back leans inward, a higher space is shallower at a given height."""


def unmeasured(catalog: Catalog, question: JobQuestion) -> dict[str, list[str]]:
    """Return the unknown figures that every part needs, by the openings of a job that lack one."""
    kinds = {
        "dash": [question.dash_id] if question.dash_id else [],
        "speaker": [place.opening_id for place in question.speakers if not place.kept],
        "amp_spot": list(question.amp_spots),
        "cargo": [place.opening_id for place in question.bass],
    }
    vehicle = catalog.vehicle(question.job.vehicle_id)
    unknown = {
        name: [field for field in sorted(NEEDED[kind]) if vehicle.opening_row(kind, name)[field] is None]
        for kind, names in kinds.items()
        for name in names
    }
    return {name: fields for name, fields in unknown.items() if fields}
