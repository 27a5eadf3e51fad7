"""Refusals of the independent slots: films by pane, security layers by the threats they cover."""

from __future__ import annotations

import numpy as np

from catalog_schema.answers import SlotCount
from matcher.answers import messages_beside as says
from matcher.kernel.columns import columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.verdicts import codes
from matcher.rules.film import NET_VLT
from matcher.rules.rule import NO
from matcher.rules.security import ROUTES
from matcher.search.candidates.table import Beside
from matcher.search.catalog.catalog import Catalog
from matcher.search.field import RankingField
from matcher.search.question import JobQuestion


def beside_counts(catalog: Catalog, field: RankingField) -> list[SlotCount]:
    """Count each independent slot of a job."""
    count = {"film": _films, "security": _layers}
    return [count[slot.slot](catalog, field.question, slot) for slot in field.beside]


def _films(catalog: Catalog, question: JobQuestion, slot: Beside) -> SlotCount:
    films, panes = catalog.parts("film"), catalog.vehicle(question.job.vehicle_id).panes
    refused, reason = _refused_films(catalog, question.job.vehicle_id) if len(films) and panes else (0, "")
    sure = sum(not some[0].unsure for some in slot.alternatives)
    reasons = [reason] if refused else []
    return SlotCount(
        slot="film",
        opening_id=None,
        fits=sure,
        measure=len(slot.alternatives) - sure,
        no=len(films) - len(slot.alternatives),
        by_rule={NET_VLT.name: refused} if refused else {},
        reasons=reasons if panes else [says.NO_PANES],
    )


def _refused_films(catalog: Catalog, vehicle_id: str) -> tuple[int, str]:
    """Return the number of films that are allowed on no pane, and the nearest miss with its pane, ties by name."""
    films = catalog.parts("film")
    panes = sorted(catalog.vehicle(vehicle_id).panes, key=lambda row: str(row["pane"]))
    at = Evaluation(films.subject("film").down() | columns_of("pane", panes).across(), catalog.settings)
    shape = len(films), len(panes)
    short = np.broadcast_to(at.value(NET_VLT.need).values - at.value(NET_VLT.have).values, shape)
    refused = np.flatnonzero(np.broadcast_to(codes(NET_VLT, at) == NO, shape).all(axis=1))
    if not len(refused):
        return 0, ""
    film, pane = divmod(int(short[refused].argmin()), len(panes))
    row = int(refused[film])
    least = from_micro(short[row, pane])
    return len(refused), says.film_refused_says(len(refused), str(films.part_ids[row]), str(panes[pane]["pane"]), least)


def _layers(catalog: Catalog, question: JobQuestion, slot: Beside) -> SlotCount:
    parts, wanted = catalog.parts("security"), set(question.routes)
    covers, at = parts.lists("covers"), parts.cells["covers"].values
    useful = np.array([some is None or not wanted or not wanted.isdisjoint(some) for some in covers], np.bool_)[at]
    unknown = np.array([some is None for some in covers], np.bool_)[at]
    dark = useful & (~np.asarray(parts.cells["standby_ma"].known) | (unknown & bool(wanted)))
    usable, refused = int(useful.sum()), int((~useful).sum())
    covered = {route for some in covers for route in some or ()}
    still_open = [] if unknown.any() else [route for route in question.routes if route not in covered]
    return SlotCount(
        slot="security",
        opening_id=None,
        fits=usable - int(dark.sum()),
        measure=int(dark.sum()),
        no=refused,
        by_rule={ROUTES.name: refused} if refused else {},
        reasons=[says.uncovered_says(still_open)] if still_open else [],
    )
