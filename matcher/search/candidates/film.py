"""Films: one model for the whole car, on every pane where its rule does not say no."""

from __future__ import annotations

from typing import Any

from matcher.rules.film import FILM
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.beside import Alternative, Beside
from matcher.search.candidates.common import cost_of_one, points_of
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.relations import measured, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.settings import Settings
from matcher.store.connection import Connection

LOOK = 1
"""Film alters no opening and comes off again, yet it is seen: it costs the look as much as one step."""


def films(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, k: int) -> Beside:
    """Every film that goes on some pane. A film is bought for a car: one pack, and its hours, whatever the panes."""
    vehicle_id = question.job.vehicle_id
    rows = sweeps.once(("films", vehicle_id), lambda: sweep_films(sweeps.con, vehicle_id, sweeps.settings))
    found: list[Alternative] = [(_film(row, scoring),) for row in rows]
    return Beside("film", found, len(found))


def sweep_films(con: Connection, vehicle_id: str, settings: Settings) -> list[tuple[Any, ...]]:
    """Films with the panes they may go on: (code, panes, part, price, hours), by part."""
    statement = (
        "WITH pane AS (SELECT * FROM pane WHERE vehicle_id = ?), asked AS (SELECT film.part_id, film.price, "
        f"film.labour_h, pane.pane, pane.position, {measured(FILM, settings)} FROM film, pane), "
        f"coded AS (SELECT *, {worst_code(FILM, lifted=False)} AS code FROM asked) "
        "SELECT min(code), list(pane ORDER BY position), part_id, any_value(price), any_value(labour_h) "
        f"FROM coded WHERE code != {NO} GROUP BY part_id ORDER BY part_id"
    )
    return con.execute(statement, [vehicle_id]).fetchall()


def _film(row: tuple[Any, ...], scoring: Scoring) -> Candidate:
    code, panes, part_id, price, labour_h = row
    cost = cost_of_one(price, labour_h, scoring)
    return Candidate(
        slot="film",
        part_id=part_id,
        unsure=code != FITS,
        cost=cost,
        points=points_of(scoring, LOOK, cost, unsure=code != FITS),
        covers=tuple(panes),
    )
