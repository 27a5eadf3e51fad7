"""How the slots beside the sound fared: films by pane, layers by what they cover."""

from __future__ import annotations

from catalog_schema.answers import SlotCount
from matcher.explain import wording_beside as says
from matcher.rules.film import FILM, NET_VLT
from matcher.rules.rule import NO
from matcher.rules.security import ROUTES
from matcher.search.candidates.beside import Beside
from matcher.search.field import Field
from matcher.search.fits.relations import measured
from matcher.search.fits.term_sql import code_sql, stem
from matcher.settings import Settings
from matcher.store.connection import Connection


def beside_counts(con: Connection, field: Field, settings: Settings) -> list[SlotCount]:
    """Each slot beside the sound that a job asks for."""
    count = {"film": _films, "security": _layers}
    return [count[slot.slot](con, field, slot, settings) for slot in field.beside]


def _films(con: Connection, field: Field, slot: Beside, settings: Settings) -> SlotCount:
    statement = (
        "WITH pane AS (SELECT * FROM pane WHERE vehicle_id = ?), "
        f"asked AS (SELECT film.part_id, pane.pane, {measured(FILM, settings)} FROM film, pane), "
        f"coded AS (SELECT *, {code_sql(NET_VLT)} AS code, {stem(NET_VLT)}_need - {stem(NET_VLT)}_have AS short "
        "FROM asked), films AS (SELECT part_id, max(code) AS best, min(short) AS short, "
        "arg_min(pane, {'short': short, 'pane': pane}) AS pane FROM coded GROUP BY part_id), "
        "refused AS (SELECT *, {'short': short, 'part_id': part_id} AS place FROM films "
        f"WHERE best = {NO}) SELECT count(*), arg_min(part_id, place), arg_min(pane, place), min(short) "
        "FROM refused"
    )
    row = con.execute(statement, [field.question.job.vehicle_id]).fetchone()
    refused, nearest, pane, short = row or (0, "", "", None)
    seen = con.execute("SELECT 1 FROM pane WHERE vehicle_id = ?", [field.question.job.vehicle_id]).fetchone()
    reasons = [says.film_refused_says(refused, nearest, pane, short)] if refused else []
    sure = sum(not some[0].unsure for some in slot.alternatives)
    total = _total(con, "film")
    return SlotCount(
        slot="film",
        opening_id=None,
        fits=sure,
        measure=len(slot.alternatives) - sure,
        no=total - len(slot.alternatives),
        by_rule={NET_VLT.name: refused} if refused else {},
        reasons=reasons if seen else [says.NO_PANES],
    )


def _layers(con: Connection, field: Field, slot: Beside, settings: Settings) -> SlotCount:
    wanted = list(field.question.routes)
    useful = "covers IS NULL OR list_has_any(covers, $1::VARCHAR[])" if wanted else "$1::VARCHAR[] IS NOT NULL"
    statement = (
        f"SELECT count(*) FILTER ({useful}), count(*) FILTER (({useful}) AND (standby_ma IS NULL "
        "OR (covers IS NULL AND len($1::VARCHAR[]) > 0))), flatten(list(covers)) FROM security"
    )
    row = con.execute(statement, [wanted]).fetchone()
    usable, dark, covered = row or (0, 0, [])
    dark_cover = con.execute("SELECT 1 FROM security WHERE covers IS NULL").fetchone() is not None
    still_open = [] if dark_cover else [route for route in wanted if route not in (covered or [])]
    return SlotCount(
        slot="security",
        opening_id=None,
        fits=usable - dark,
        measure=dark,
        no=_total(con, "security") - usable,
        by_rule={ROUTES.name: _total(con, "security") - usable} if usable < _total(con, "security") else {},
        reasons=[says.uncovered_says(still_open)] if still_open else [],
    )


def _total(con: Connection, family: str) -> int:
    row = con.execute(f"SELECT count(*) FROM {family}").fetchone()
    return int(row[0]) if row else 0
