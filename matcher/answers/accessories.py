"""Accessories in a package: whether the head unit has everything that each of them requires."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from catalog_schema.answers import Check
from matcher.rules.accessory import ACCESSORY
from matcher.rules.rule import rules_of
from matcher.search.candidates.accessories import SLOT, needed_of, needs_columns
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate


def accessory_checks(catalog: Catalog, fitted: Sequence[PackageCandidate]) -> list[Check]:
    """Check each accessory of a package against its head unit."""
    return [
        check
        for head in (one.candidate for one in fitted)
        for accessory in head.along
        if accessory.slot == SLOT
        for check in _needs_checks(catalog, head, accessory)
    ]


def _needs_checks(catalog: Catalog, head: Candidate, accessory: Candidate) -> list[Check]:
    parts = catalog.parts("accessory")
    row = parts.row(str(accessory.part_id))
    assert row is not None
    needed = needed_of(cell(parts.columns["part.kind"], row), parts.listed("needs", row))
    has = None if head.features is None else tuple(head.features)
    columns = needs_columns([has], [needed]).shaped(np.ravel)
    (checks,) = catalog.explain(rules_of(ACCESSORY), columns)
    # A head unit with unknown features is reported on its own: only the accessory's requirements may be missing here.
    wants = [f"part:{accessory.part_id}.needs"]
    return [replace(check, about=str(accessory.part_id), missing=wants if check.missing else []) for check in checks]
