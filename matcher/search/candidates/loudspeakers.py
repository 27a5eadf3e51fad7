"""Loudspeakers for a place, priced and scored."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from matcher.rules.rule import FITS
from matcher.search.candidates.common import COMMON, KEPT, Filled, cost_of, named, original, points_of, points_sql
from matcher.search.feeds.parts import Candidate, SpeakerSignature
from matcher.search.fits.laid import Laid, lay_swept
from matcher.search.fits.looks import Look, Merits
from matcher.search.fits.mounted import Order, Tallies, read_swept, read_tallies
from matcher.search.fits.place import LOOSEST, Place
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, SpeakerPlace
from matcher.search.scoring import Scoring, level_at_1w_cdb, literal
from matcher.store.connection import Connection

SPEAKER = (
    "part.impedance_ohm",
    "part.coils",
    "part.rms_w",
    "part.sens_db",
    "part.sens_basis",
    "part.low_hz",
)


NO_LOWS = [{"low_hz": Decimal(0), "low_points": 0}]
NO_LEVELS = [{"sens_db": Decimal(0), "sens_basis": "", "impedance_ohm": Decimal(0), "level_cdb": 0}]
"""What nothing is found in, with its columns."""


def speakers(sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, look: Look) -> Filled:
    """Loudspeakers for a place within its step, or the original where that stays."""
    if place.kept:
        signature = SpeakerSignature(place.factory_ohm, 1, None, original=True)
        return Filled([original("speaker", place.opening_id, signature)], {signature: KEPT})
    points = points_sql(scoring, "NOT sure")
    asked = _Asked(f"taken <= {place.allowed}", points, scoring.unknown(True))
    laid = laid_at(sweeps, question, place, look.k)
    tallies, rows = _read(sweeps, laid, place, scoring, asked, look)
    told = {SpeakerSignature(ohm, coils, rms_w): tally for (ohm, coils, rms_w), tally in tallies.items()}
    return Filled([speaker_of(row, place, scoring) for row in rows], told)


@dataclass(frozen=True)
class _Asked:
    """Which loudspeakers of an opening are read, and what counts of them beside reach and level."""

    where: str
    points: str
    doubt: int


def laid_at(sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, k: int) -> Laid:
    """What goes into an opening, whatever it alters: trade-offs and what-ifs ask beyond the step that is allowed."""
    opening = Place("speaker", "speaker", question.job.vehicle_id, place.opening_id, LOOSEST)
    columns = (*COMMON, *SPEAKER)
    laid: Laid = sweeps.once((opening, place.count, k), lambda: lay_swept(sweeps, opening, place.count, columns, k))
    return laid


def _read(
    sweeps: Sweeps, laid: Laid, place: SpeakerPlace, scoring: Scoring, one: _Asked, look: Look
) -> tuple[Tallies, list[tuple[Any, ...]]]:
    """How many there are, and what is read of them."""
    if not laid.mates.mouths:
        return {}, []
    con, signature = sweeps.con, ("impedance_ohm", "coils", "rms_w")
    merits = Merits(
        group=signature,
        points=f"coalesce(low_points, 0) + {one.points}",
        open="NOT sure",
        high="coalesce(level_cdb, -1)",
        doubt=one.doubt,
        mix=literal(sweeps.settings["points_level"] * scoring.wishes.loudness),
    )
    told, params = told_sql(sweeps, laid, scoring)
    relation = f"{told} WHERE {one.where}"
    asked = Order(named((*COMMON, *SPEAKER)), signature, merits)
    key = (laid.relation, one, scoring.wishes)
    tallies = sweeps.once((laid.relation, one.where), lambda: read_tallies(con, laid, asked, relation, params))
    return tallies, sweeps.once((*key, look), lambda: read_swept(con, laid, asked, relation, params, look))


def told_sql(sweeps: Sweeps, laid: Laid, scoring: Scoring) -> tuple[str, dict[str, Any]]:
    """SQL of what was laid with the points for its reach and its level at 1 W, and the parameters of that."""
    leveled, params = leveled_sql(sweeps, laid)
    relation = f"SELECT * FROM ({leveled}) LEFT JOIN (SELECT unnest($lows, max_depth := 2)) AS lows USING (low_hz)"
    return relation, params | {"lows": lows_of(sweeps, laid, scoring)}


def leveled_sql(sweeps: Sweeps, laid: Laid) -> tuple[str, dict[str, Any]]:
    """SQL of what was laid with its level at 1 W, and the parameters of that."""
    relation = (
        f"SELECT swept.* REPLACE (coalesce(coils, 1) AS coils), level_cdb FROM {laid.relation} AS swept "
        "LEFT JOIN (SELECT unnest($levels, max_depth := 2)) AS levels USING (sens_db, sens_basis, impedance_ohm)"
    )
    return relation, {"levels": sweeps.once((laid.relation, "levels"), lambda: _levels(sweeps.con, laid))}


def lows_of(sweeps: Sweeps, laid: Laid, scoring: Scoring) -> list[dict[str, Any]]:
    """The points for each reach that some loudspeaker has."""
    lows: list[Decimal] = sweeps.once((laid.relation, "lows"), lambda: _lows(sweeps.con, laid))
    return [{"low_hz": low_hz, "low_points": scoring.low(low_hz)} for low_hz in lows] or NO_LOWS


def _lows(con: Connection, laid: Laid) -> list[Decimal]:
    rows = con.execute(f"SELECT DISTINCT low_hz FROM {laid.relation} WHERE low_hz IS NOT NULL").fetchall()
    return [low_hz for (low_hz,) in rows]


def _levels(con: Connection, laid: Laid) -> list[dict[str, Any]]:
    """The level at 1 W for each sensitivity that some loudspeaker has."""
    names = ("sens_db", "sens_basis", "impedance_ohm")
    columns = ", ".join(names)
    rows = con.execute(f"SELECT DISTINCT {columns} FROM {laid.relation} WHERE ({columns}) IS NOT NULL").fetchall()
    told = [dict(zip(names, row, strict=True)) | {"level_cdb": level_at_1w_cdb(*row)} for row in rows]
    return [one for one in told if one["level_cdb"] is not None] or NO_LEVELS


def speaker_of(row: tuple[Any, ...], place: SpeakerPlace, scoring: Scoring) -> Candidate:
    """A row of `read_swept` as a candidate."""
    adapter_id, step, code, part_id, price, pack_of, labour_h, *rest, adapter = row
    impedance_ohm, coils, rms_w, sens_db, sens_basis, low_hz = rest
    cost = cost_of(place.count, (price, pack_of, labour_h), adapter, scoring)
    return Candidate(
        slot="speaker",
        opening_id=place.opening_id,
        part_id=part_id,
        adapter_id=adapter_id,
        step=step,
        unsure=code != FITS,
        cost=cost,
        points=(("bass", scoring.low(low_hz)), *points_of(scoring, step, cost, unsure=code != FITS)),
        signature=SpeakerSignature(impedance_ohm, coils or 1, rms_w),
        level_cdb=level_at_1w_cdb(sens_db, sens_basis, impedance_ohm),
        low_hz=low_hz,
    )
