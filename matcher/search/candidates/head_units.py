"""Head units for the dash, priced and scored."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from catalog_schema.jobs import Job
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.common import (
    COMMON,
    KEPT,
    Filled,
    cost_of,
    microamps,
    named,
    original,
    points_of,
    points_sql,
)
from matcher.search.feeds.parts import Candidate, HeadSignature
from matcher.search.fits.laid import Laid, lay_swept
from matcher.search.fits.looks import Look, Merits
from matcher.search.fits.mounted import Order, read_swept, read_tallies
from matcher.search.fits.place import LOOSEST, Place
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.wanted import Wanted
from matcher.search.question import HEAD_UNIT, JobQuestion
from matcher.search.scoring import Scoring

HEAD = (
    "part.standby_ma",
    "part.screen_in",
    "part.features",
    "part.amp_channels",
    "part.amp_w",
    "part.amp_min_ohm",
    "part.preouts",
    "part.preout_v",
    "part.preout_v_tol",
)


HEAD_ITSELF = 3
"""Where among these a head unit's signature begins."""
ORIGINAL_HEAD = HeadSignature(None, None, None, None, None)


def head_units(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], look: Look) -> Filled:
    """Head units for the dash opening, or the original where that stays; they are told apart by what matters."""
    if question.dash_id is None:
        return Filled([original(HEAD_UNIT, None, ORIGINAL_HEAD)], {(): KEPT})
    return _heads(sweeps, question, scoring, wanted_of(question.job), matter, look, lacking=False)


def heads_lacking(
    sweeps: Sweeps, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], look: Look
) -> Filled:
    """Head units for which nothing speaks against the dash opening but a feature that they lack.

    They are told apart, and counted, by those of their features that matter.
    """
    wanted = replace(wanted_of(question.job), must=())
    return _heads(sweeps, question, scoring, wanted, matter, look, lacking=True)


def _heads(
    sweeps: Sweeps,
    question: JobQuestion,
    scoring: Scoring,
    wanted: Wanted,
    matter: tuple[str, ...],
    look: Look,
    *,
    lacking: bool,
) -> Filled:
    supply = sweeps.powered(question.job.vehicle_id)
    if supply == NO or question.dash_id is None:
        return Filled([], {})
    con = sweeps.con
    place = Place("dash", "head_unit", question.job.vehicle_id, question.dash_id, LOOSEST)
    must = tuple(question.job.limits.must or ()) if lacking else None
    laid: Laid = sweeps.once(
        (place, wanted, look.k), lambda: lay_swept(sweeps, place, 1, (*COMMON, *HEAD), look.k, wanted)
    )
    relation, params = _told_apart(laid, question.dash_allowed, supply, matter, must)
    asked = Order(named((*COMMON, *HEAD)), ("telling",), _merits(scoring))
    key = (laid.relation, question.dash_allowed, matter, must)
    tallies = sweeps.once(key, lambda: read_tallies(con, laid, asked, relation, params))
    rows = sweeps.once((*key, look, scoring.wishes), lambda: read_swept(con, laid, asked, relation, params, look))
    return Filled([_head(row, question.dash_id, supply, scoring) for row in rows], tallies)


def _told_apart(
    laid: Laid, allowed: int, supply: int, matter: tuple[str, ...], must: tuple[str, ...] | None
) -> tuple[str, dict[str, Any]]:
    """The relation of head units within a step with what tells them apart; of those that lack something, if named."""
    sure, params = f"sure AND {supply == FITS}", {"matter": list(matter)}
    relation = (
        f"SELECT * REPLACE ({sure} AS sure), NOT ({sure}) OR standby_ma IS NULL AS is_open, "
        f"list_sort(list_intersect(features, $matter::VARCHAR[])) AS telling "
        f"FROM {laid.relation} WHERE taken <= {allowed}"
    )
    if must is None:
        return relation, params
    return f"{relation} AND NOT list_has_all(features, $must::VARCHAR[])", params | {"must": list(must)}


def _merits(scoring: Scoring) -> Merits:
    signature = named(("part", *HEAD[HEAD_ITSELF:]))
    return Merits(
        group=(*signature, "telling"),
        points=f"{scoring.screen_sql('screen_in')} + {points_sql(scoring, 'is_open')}",
        open="is_open",
        low="coalesce(standby_ma, 0)",
    )


def wanted_of(job: Job) -> Wanted:
    """What a job asks of a head unit."""
    least = job.limits.screen_min_in
    return Wanted(None if least is None else least.value, tuple(job.limits.must or ()))


def _head(row: tuple[Any, ...], dash_id: str, supply: int, scoring: Scoring) -> Candidate:
    adapter_id, step, code, part_id, price, pack_of, labour_h, *rest, adapter = row
    standby_ma, screen_in, features, *signature = rest
    cost = cost_of(1, (price, pack_of, labour_h), adapter, scoring)
    unsure = min(code, supply) != FITS
    own = points_of(scoring, step, cost, unsure=unsure or standby_ma is None)
    return Candidate(
        slot=HEAD_UNIT,
        opening_id=dash_id,
        part_id=part_id,
        adapter_id=adapter_id,
        step=step,
        unsure=unsure,
        cost=cost,
        drain_ua=microamps(standby_ma),
        unsure_drain=standby_ma is None,
        points=(("screen", scoring.screen(screen_in)), *own),
        signature=HeadSignature(*signature),
        screen_in=screen_in,
        features=None if features is None else frozenset(features),
    )
