"""Physically doubtful claims of the parts in an answer: the values used in place of those that the makers state."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import Any

from catalog_schema.checks import Claim
from matcher.answers.messages_claims import claim_against_physics_says
from matcher.search.candidates.draws import FIGURES
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.counted import DoubtfulClaim, amplifier_doubts, head_doubts
from matcher.search.catalog.parts import cell, cells_of
from matcher.settings import Settings


def claims_against_physics(catalog: Catalog, part_ids: Collection[str]) -> list[Claim]:
    """Return the claims of head units and amplifiers that are not counted as stated, by part."""
    return [
        claim
        for family in ("head_unit", "amplifier")
        for part_id in sorted(set(part_ids))
        for claim in catalog.once(("claims", family, part_id), partial(_claims_of, catalog, family, part_id))
    ]


def _claims_of(catalog: Catalog, family: str, part_id: str) -> list[Claim]:
    """Claims of one part; none for a part of another family."""
    parts = catalog.parts(family)
    row = parts.row(part_id)
    if row is None:
        return []
    if family == "amplifier":
        return amplifier_claims(part_id, cells_of(parts.cells, FIGURES, row), catalog.settings)
    return _claims(part_id, head_doubts(cell(parts.cells["stated_w"], row), catalog.settings), catalog.settings)


def amplifier_claims(part_id: str, figures: dict[str, Any], settings: Settings) -> list[Claim]:
    """Return the claims of one amplifier that are not counted as stated."""
    return _claims(part_id, amplifier_doubts(figures, settings), settings)


def _claims(part_id: str, doubts: list[DoubtfulClaim], settings: Settings) -> list[Claim]:
    claims = [
        Claim(
            part_id=part_id,
            figure=one.figure,
            claimed=one.claimed,
            counted=None if one.counted is None else _short(one.counted),
            unit=one.unit,
            why=one.why,
        )
        for one in doubts
    ]
    return [replace(claim, says=claim_against_physics_says(claim, settings)) for claim in claims]


def _short(counted: Decimal) -> Decimal:
    return round(counted, 2)
