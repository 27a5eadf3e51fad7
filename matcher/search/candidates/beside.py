"""Independent slots, which no link involves: window film and security layers."""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from matcher.kernel.columns import columns_of
from matcher.rules.film import FILM
from matcher.rules.rule import NO, rules_of
from matcher.search.candidates.common import points_of
from matcher.search.candidates.goods import goods_of
from matcher.search.candidates.security import layers
from matcher.search.candidates.table import Alternative, Beside
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.tables import VerdictTable, verdict_table
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring


def beside(catalog: Catalog, question: JobQuestion, scoring: Scoring, k: int) -> list[Beside]:
    """Return the independent slots of a job with every way to fill them that can be in one of the k best packages."""
    films = [_films(catalog, question, scoring)] if question.asks_film else []
    return [*films, layers(catalog, question, scoring, k)] if question.asks_security else films


def _films(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> Beside:
    """Return every film that its rule allows on some pane: one model for the whole car.

    Film is sold per car: one pack and its labor, for any number of panes.
    """
    vehicle_id = question.job.vehicle_id
    panes = [str(pane["pane"]) for pane in catalog.vehicle(vehicle_id).panes]
    if not panes:
        return Beside("film", [], 0)
    table: VerdictTable = catalog.once(("films", vehicle_id), lambda: film_codes(catalog, vehicle_id))
    goes_on = (table.codes != NO).any(axis=1)
    rows = np.flatnonzero(goes_on[table.number])
    wanted = question.job.film_vlt_pct
    pct = None if wanted is None else wanted.value
    found: list[Alternative] = [(_film(catalog, row, panes, table, pct, scoring),) for row in rows.tolist()]
    stated = catalog.parts("film").cells["vlt_pct"]
    known = catalog.parts("film").part_ids[np.asarray(stated.known) & (stated.tol == 0)]
    return Beside("film", found, len(found), frozenset(known.tolist()))


def film_codes(catalog: Catalog, vehicle_id: str) -> VerdictTable:
    """Verdict codes of every film on every pane of a vehicle."""
    panes = catalog.vehicle(vehicle_id).panes
    there = columns_of("pane", panes)
    return verdict_table(rules_of(FILM), catalog.parts("film"), "film", there, len(panes), catalog.settings)


def _film(
    catalog: Catalog, row: int, panes: list[str], table: VerdictTable, wanted_pct: Decimal | None, scoring: Scoring
) -> Candidate:
    goods, codes = goods_of(catalog, "film"), table.codes[table.number[row]]
    code = int(codes[codes != NO].min())
    off = scoring.film(cell(catalog.parts("film").cells["vlt_pct"], row), wanted_pct)
    points = (*points_of(scoring, 0, goods.cost(row), code), ("original_look", off))
    covers = tuple(pane for pane, one_code in zip(panes, codes.tolist(), strict=True) if one_code != NO)
    return goods.candidate(row, "film", code=code, points=points, covers=covers)
