"""The floor of a ranking: every slot's own rules over its whole family, and what a ranking needs of what passes.

No adapters, no second look, no grouping: one statement for each slot, as plain as the rules allow.
"""

from __future__ import annotations

from pathlib import Path

from matcher import Shop
from matcher.rules.amp_board import BOARD
from matcher.rules.dash import DASH
from matcher.rules.rule import NO
from matcher.rules.speaker import SPEAKER
from matcher.search.fits.relations import bare_mouth_sql, hole_sql, measured, part_sql, worst_code
from matcher.search.question import JobQuestion, read_question
from matcher.settings import Settings
from matcher.shop.base import shop_settings
from matcher.store.connection import Connection
from matcher.store.documents import stored_job

COMMON = "part_id, price, pack_of, labour_h"
NEEDED = {
    "head_unit": f"{COMMON}, standby_ma, screen_in, amp_channels, amp_w, amp_min_ohm, preouts, preout_v",
    "speaker": f"{COMMON}, impedance_ohm, coils, rms_w, sens_db, sens_basis, low_hz",
    "amplifier": f"{COMMON}, standby_ma, power_basis, full_channels, full_w_4ohm, full_w_2ohm, full_min_ohm, "
    "full_bridged_w_4ohm, full_bridged_min_ohm, input_min_v, input_max_v, high_level_in",
}
"""What a ranking reads of a part."""


def scan(store: Path, job: str) -> int:
    """How many parts pass, over every slot."""
    with Shop(store).store.reading() as con:
        settings = shop_settings(con)
        question = read_question(con, stored_job(con, job), settings)
        slots = _slots(con, question)
        return sum(len(_passing(con, question.job.vehicle_id, *slot, settings)) for slot in slots)


def _slots(con: Connection, question: JobQuestion) -> list[tuple[str, str, str, str]]:
    """Each slot: the kind of opening, the opening, the family, the question asked."""
    spots = con.execute(
        "SELECT opening_id FROM opening_amp_spot WHERE vehicle_id = ?", [question.job.vehicle_id]
    ).fetchall()
    dash = [] if question.dash_id is None else [("dash", question.dash_id, "head_unit", DASH)]
    places = [("speaker", place.opening_id, "speaker", SPEAKER) for place in question.speakers if not place.kept]
    return [*dash, *places, *(("amp_spot", spot, "amplifier", BOARD) for (spot,) in spots)]


def _passing(
    con: Connection, vehicle_id: str, kind: str, opening_id: str, family: str, scope: str, settings: Settings
) -> list[tuple[object, ...]]:
    """What passes a slot's rules by itself, with what a ranking reads of it."""
    mouths = "" if kind == "amp_spot" else f", hole AS ({hole_sql(kind, settings)}), mouth AS ({bare_mouth_sql()})"
    source = "part, opening" if kind == "amp_spot" else "part, opening, mouth WHERE NOT mouth.is_cut"
    codes = f"least({worst_code(scope, lifted=False)}, {worst_code(scope, lifted=True)})"
    read = ", ".join(f"part.{name}" for name in NEEDED[family].split(", "))
    statement = (
        f"WITH part AS ({part_sql(family, settings)}), "
        f"opening AS (SELECT * FROM opening_{kind} WHERE vehicle_id = ? AND opening_id = ?){mouths}, "
        f"asked AS (SELECT {read}, {measured(scope, settings)} FROM {source}) "
        f"SELECT {NEEDED[family]} FROM asked WHERE {codes} > {NO}"
    )
    return con.execute(statement, [vehicle_id, opening_id]).fetchall()
