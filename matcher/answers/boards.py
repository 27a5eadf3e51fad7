"""Catalog boards of a package, checked by their rules; a board made by the shop fits by construction."""

from __future__ import annotations

from collections.abc import Sequence

from catalog_schema.answers import Check
from matcher.answers.figures import kept_where
from matcher.rules.mount import BOARD_ON_SPOT, ON_BOARD
from matcher.rules.rule import rules_of
from matcher.search.candidates.boards import SLOT
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion


def board_checks(catalog: Catalog, question: JobQuestion, fitted: Sequence[PackageCandidate]) -> list[Check]:
    """Check each board against its spot and the amplifier on it."""
    return [
        check
        for one in (each.candidate for each in fitted)
        for board in one.along
        if board.slot == SLOT and board.part_id is not None
        for check in _checks(catalog, question.job.vehicle_id, one, board)
    ]


def _checks(catalog: Catalog, vehicle: str, amplifier: Candidate, board: Candidate) -> list[Check]:
    kept_at = {
        "opening": f"opening:{vehicle}/{board.opening_id}",
        "part": f"part:{amplifier.part_id}",
        "board": f"part:{board.part_id}",
    }
    things = catalog.part("amplifier", str(amplifier.part_id)) | catalog.part("accessory", str(board.part_id), "board")
    spot = catalog.vehicle(vehicle).opening("amp_spot", str(board.opening_id))
    (checks,) = catalog.explain([*rules_of(BOARD_ON_SPOT), *rules_of(ON_BOARD)], things | spot)
    return [kept_where(check, f"{board.opening_id}: {board.part_id}", kept_at) for check in checks]
