"""Claims against physics of the parts in an answer: what was counted otherwise than its maker states."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from decimal import Decimal
from typing import Any

from catalog_schema.checks import Claim
from matcher.explain.wording_claims import claim_against_physics_says
from matcher.search.candidates.draws import FIGURES
from matcher.search.catalog.counted import Doubt, amplifier_doubts, head_doubts
from matcher.settings import Settings
from matcher.store.connection import Connection


def claims_against_physics(con: Connection, parts: Collection[str], settings: Settings) -> list[Claim]:
    """The claims of head units and amplifiers that do not count as they stand, by part."""
    wanted = sorted(set(parts))
    columns = ", ".join(f'"{name}"' for name in FIGURES)
    one_of = "part_id IN (SELECT unnest(?::VARCHAR[])) ORDER BY part_id"
    amplifiers = con.execute(f"SELECT part_id, {columns} FROM amplifier WHERE {one_of}", [wanted]).fetchall()
    heads = con.execute(f"SELECT part_id, amp_w FROM head_unit WHERE {one_of}", [wanted]).fetchall()
    found = [claim for part_id, amp_w in heads for claim in _claims(part_id, head_doubts(amp_w, settings), settings)]
    for part_id, *figures in amplifiers:
        found += amplifier_claims(part_id, dict(zip(FIGURES, figures, strict=True)), settings)
    return found


def amplifier_claims(part_id: str, figures: dict[str, Any], settings: Settings) -> list[Claim]:
    """The claims of one amplifier that do not count as they stand."""
    return _claims(part_id, amplifier_doubts(figures, settings), settings)


def _claims(part_id: str, doubts: list[Doubt], settings: Settings) -> list[Claim]:
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
