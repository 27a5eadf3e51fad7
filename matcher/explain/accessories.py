"""Accessories in a package: whether the head unit has what each of them needs, asked again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from catalog_schema.answers import Check
from matcher.rules.accessory import ACCESSORY
from matcher.rules.rule import rules_of
from matcher.search.candidates.accessories import SLOT, needs_sql
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.statement import Asked
from matcher.search.fits.sweep import Sweeps
from matcher.search.packages import Fitted


def accessory_checks(sweeps: Sweeps, fitted: Sequence[Fitted]) -> list[Check]:
    """Each accessory of a package against its head unit."""
    return [
        check
        for head in (one.candidate for one in fitted)
        for accessory in head.along
        if accessory.slot == SLOT
        for check in _needs_checks(sweeps, head, accessory)
    ]


def _needs_checks(sweeps: Sweeps, head: Candidate, accessory: Candidate) -> list[Check]:
    source = (
        "(SELECT features FROM head_unit WHERE part_id = ?) AS part, "
        f"(SELECT kind, needs FROM accessory WHERE part_id = ?) AS other, LATERAL ({needs_sql()}) AS accessory"
    )
    asked = Asked("", source, (), tuple(rules_of(ACCESSORY)))
    rows = sweeps.checks(asked, [head.part_id, accessory.part_id])
    # A head unit of which the features are not known stands by itself: here only the needs may be missing.
    wants = [f"part:{accessory.part_id}.needs"]
    return [
        replace(check, about=str(accessory.part_id), missing=wants if check.missing else [])
        for _, some in rows
        for check in some
    ]
