"""Purchased level controls at their spots, checked by their rules."""

from __future__ import annotations

from collections.abc import Sequence

from catalog_schema.answers import Check
from matcher.answers.figures import kept_where
from matcher.rules.mount import CONTROL
from matcher.rules.rule import rules_of
from matcher.search.candidates.accessories import SLOT
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion


def control_checks(catalog: Catalog, question: JobQuestion, fitted: Sequence[PackageCandidate]) -> list[Check]:
    """Check each level control against its spot."""
    vehicle, along = question.job.vehicle_id, (more for one in fitted for more in one.candidate.along)
    placed = (one for one in along if one.slot == SLOT and one.opening_id is not None)
    return [check for one in placed for check in _checks(catalog, vehicle, one)]


def _checks(catalog: Catalog, vehicle: str, one: Candidate) -> list[Check]:
    kept_at = {"opening": f"opening:{vehicle}/{one.opening_id}", "part": f"part:{one.part_id}"}
    spot = catalog.vehicle(vehicle).opening("control_spot", str(one.opening_id))
    columns = catalog.part("accessory", str(one.part_id)) | spot
    (checks,) = catalog.explain(rules_of(CONTROL), columns)
    return [kept_where(check, f"{one.opening_id}: {one.part_id}", kept_at) for check in checks]
