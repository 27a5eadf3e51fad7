"""Amplifiers on the vehicle's supply: what each draws, and the cheapest cable that carries it.

A cable follows from its amplifier and the run from the battery, so it is no choice of its own:
the first in the total order of those that do comes along, its price and points with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

from matcher.rules.charging import CABLE
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.controls import with_remotes
from matcher.search.candidates.draws import FIGURES, draw_of
from matcher.search.feeds.parts import Candidate, Cost, Draw
from matcher.search.fits.relations import measured, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.settings import Settings
from matcher.store.connection import Connection

Need = tuple[Decimal, Decimal, Decimal]
"""What a cable has to do: the fuse it carries, its least area in copper and in copper-clad aluminum."""
DRAW_COLUMNS = ("fuse_a", "copper_mm2", "cca_mm2")


def supplied(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, amplifiers: list[Candidate]) -> list[Candidate]:
    """The amplifiers with what they draw, and with their cable where the catalog has one that does.

    In a job with bass any of them may have to play it, and is told apart from what it is where it has not.
    """
    plain = _supplied(sweeps, question, scoring, amplifiers, bass=False)
    if not question.bass_names:
        return plain
    playing = _supplied(sweeps, question, scoring, with_remotes(sweeps, question, amplifiers), bass=True)
    return [replace(one, quiet=other) for one, other in zip(playing, plain, strict=True)]


def _supplied(
    sweeps: Sweeps, question: JobQuestion, scoring: Scoring, amplifiers: list[Candidate], *, bass: bool
) -> list[Candidate]:
    vehicle_id, con, settings = question.job.vehicle_id, sweeps.con, sweeps.settings
    names = sorted({str(one.part_id) for one in amplifiers})
    length_m = sweeps.once(("run", vehicle_id), lambda: run_m(con, vehicle_id))
    draws: dict[str, Draw] = sweeps.once(
        ("draws", vehicle_id, bass, tuple(names)), lambda: read_draws(con, names, bass, length_m, settings)
    )
    cables, dark = _cables(sweeps, question, scoring, draws.values(), length_m)
    return [_with_supply(one, draws[str(one.part_id)], cables, dark) for one in amplifiers]


def _cables(
    sweeps: Sweeps, question: JobQuestion, scoring: Scoring, draws: Iterable[Draw], length_m: Decimal | None
) -> tuple[dict[Need, Candidate], bool]:
    """The cheapest cable for each need, and whether the supply stays open whatever the cable."""
    vehicle_id, con = question.job.vehicle_id, sweeps.con
    needs = sorted({need for draw in draws if (need := need_of(draw)) is not None})
    known: dict[Need, Cable | None] = sweeps.once(("cable", vehicle_id), dict)
    unasked = [need for need in needs if need not in known]
    known |= dict.fromkeys(unasked) | cheapest_cables(con, vehicle_id, unasked, sweeps.settings)
    made: dict[Cable, Candidate] = {}
    for cable in (known[need] for need in needs):
        if cable is not None and cable not in made:
            made[cable] = _candidate(cable, scoring)
    cables = {need: made[cable] for need in needs if (cable := known[need]) is not None}
    dark = question.headroom.over_a is None or (length_m is None and sweeps.once("any cable", lambda: has_cable(con)))
    return cables, dark


def has_cable(con: Connection) -> bool:
    """Whether the catalog holds any cable."""
    return con.execute("SELECT 1 FROM cable LIMIT 1").fetchone() is not None


def _with_supply(one: Candidate, draw: Draw, cables: dict[Need, Candidate], dark: bool) -> Candidate:
    need = need_of(draw)
    cable = None if need is None else cables.get(need)
    unsure = dark or draw.music_ma is None
    return replace(one, draw=draw, unsure_supply=unsure, along=one.along if cable is None else (*one.along, cable))


def need_of(draw: Draw) -> Need | None:
    """What a cable has to do for an amplifier; none where that is not known."""
    if draw.fuse_a is None or draw.copper_mm2 is None or draw.cca_mm2 is None:
        return None
    return draw.fuse_a, draw.copper_mm2, draw.cca_mm2


def run_m(con: Connection, vehicle_id: str) -> Decimal | None:
    """Length of the run from the battery to the cargo space, near which amplifiers stand."""
    row = con.execute("SELECT battery_to_cargo_m FROM vehicle WHERE vehicle_id = ?", [vehicle_id]).fetchone()
    return row[0] if row else None


def read_draws(
    con: Connection, names: list[str], bass: bool, length_m: Decimal | None, settings: Settings
) -> dict[str, Draw]:
    """What each of these amplifiers draws, by part."""
    columns = ", ".join(f'"{name}"' for name in FIGURES)
    rows = con.execute(
        f"SELECT part_id, {columns} FROM amplifier WHERE part_id IN (SELECT unnest(?::VARCHAR[]))", [names]
    ).fetchall()
    known: dict[tuple[Any, ...], Draw] = {}
    for _, *figures in rows:
        key = tuple(figures)
        if key not in known:
            known[key] = draw_of(dict(zip(FIGURES, key, strict=True)), bass, length_m, settings)
    return {name: known[tuple(figures)] for name, *figures in rows}


class Cable(NamedTuple):
    """A cable that does, or that is to be measured first, with its money in cents."""

    part_id: str
    code: int
    goods: int
    work: int


def cheapest_cables(con: Connection, vehicle_id: str, needs: Iterable[Need], settings: Settings) -> dict[Need, Cable]:
    """For each need the first cable in the total order: of those that do, else of those to be measured.

    Points fall as money rises, so it is the first whatever the wishes.
    """
    wanted = list(needs)
    if not wanted:
        return {}
    statement = (
        f"WITH draw AS {draw_relation()}, cable AS ({_one_of_a_kind(settings)}), "
        "vehicle AS (SELECT * FROM vehicle WHERE vehicle_id = $4), "
        f"asked AS (SELECT draw.position, cable.part_id, cable.goods, cable.work, {measured(CABLE, settings)} "
        "FROM draw, cable, vehicle), "
        f"coded AS (SELECT *, {worst_code(CABLE, lifted=False)} AS code FROM asked) "
        f"SELECT position, code, part_id, goods, work FROM coded WHERE code != {NO} QUALIFY row_number() "
        "OVER (PARTITION BY position ORDER BY code DESC, goods + work, part_id) = 1"
    )
    rows = con.execute(statement, [*draw_params(wanted), vehicle_id]).fetchall()
    return {
        wanted[position - 1]: Cable(part_id, code, int(goods), int(work))
        for position, code, part_id, goods, work in rows
    }


def draw_relation() -> str:
    """Needs as a relation of three parameters, in their order."""
    lists = ", ".join(f"unnest(${i + 1}::DECIMAL(15,6)[]) AS {name}" for i, name in enumerate(DRAW_COLUMNS))
    return f"(SELECT {lists}, generate_subscripts($1::DECIMAL(15,6)[], 1) AS position)"


def draw_params(needs: list[Need]) -> list[list[Decimal]]:
    """The three parameters of `draw_relation`."""
    return [[need[position] for need in needs] for position in range(len(DRAW_COLUMNS))]


def _one_of_a_kind(settings: Settings) -> str:
    """Of cables that are alike in every figure the first in the total order, with its money in cents."""
    money = (
        "round(price * 100)::BIGINT AS goods, "
        f"round(coalesce(labour_h, 0) * {settings['labour_rate']} * 100)::BIGINT AS work"
    )
    figures = "conductor, area_mm2, area_mm2_tol, length_m, length_m_tol, rated_a, rated_a_tol"
    return (
        f"SELECT * FROM (SELECT *, {money} FROM cable) "
        f"QUALIFY row_number() OVER (PARTITION BY {figures} ORDER BY goods + work, part_id) = 1"
    )


def _candidate(cable: Cable, scoring: Scoring) -> Candidate:
    cost = Cost(1, 1, 0, cable.goods, cable.work)
    return Candidate(
        slot="cable",
        part_id=cable.part_id,
        unsure=cable.code != FITS,
        cost=cost,
        points=(("price", scoring.price(cost.cents)),),
    )
