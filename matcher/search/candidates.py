"""Candidates of a job's slots, priced and scored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from catalog_schema.jobs import Job
from matcher.rules.rule import FITS, NO
from matcher.search.mates import Mates
from matcher.search.mounted import NOTHING_WANTED, Order, Swept, Tally, lay_swept, read_swept
from matcher.search.parts import (
    NO_COST,
    AmplifierSignature,
    Candidate,
    Cost,
    HeadSignature,
    SpeakerSignature,
    cents,
    packs_for,
)
from matcher.search.place import BOARD_STEP, LOOSEST, Place
from matcher.search.question import HEAD_UNIT, JobQuestion, SpeakerPlace, allowed_step
from matcher.search.scoring import Scoring, level_at_1w_cdb
from matcher.search.sweep import Sweeps
from matcher.search.unbeaten import Merits
from matcher.search.wanted import Wanted
from matcher.store.connection import Connection

COMMON = ("part.part_id", "part.price", "part.pack_of", "part.labour_h")
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
SPEAKER = (
    "part.impedance_ohm",
    "part.coils",
    "part.rms_w",
    "part.sens_db",
    "part.sens_basis",
    "part.low_hz",
)
AMPLIFIER = (
    "part.standby_ma",
    "part.input_min_v_tol",
    "part.input_max_v_tol",
    "part.power_basis",
    "part.full_channels",
    "part.full_w_4ohm",
    "part.full_w_2ohm",
    "part.full_min_ohm",
    "part.full_bridged_w_4ohm",
    "part.full_bridged_min_ohm",
    "part.input_min_v",
    "part.input_max_v",
    "part.high_level_in",
)
FOR_BASS = ("part.bass_channels", "part.bass_w_4ohm", "part.bass_w_2ohm", "part.bass_w_1ohm", "part.bass_min_ohm")
"""What else counts of an amplifier where bass is asked for."""

NO_LOWS = [{"low_hz": Decimal(0), "low_points": 0}]
NO_LEVELS = [{"sens_db": Decimal(0), "sens_basis": "", "impedance_ohm": Decimal(0), "level_cdb": 0}]
"""What nothing is found in, with its columns."""

HEAD_ITSELF = 3
"""Where among these a head unit's signature begins."""
ORIGINAL_HEAD = HeadSignature(None, None, None, None, None)


@dataclass(frozen=True)
class Filled:
    """What may fill a slot: the candidates that matter, and how many there are in all."""

    candidates: list[Candidate]
    tallies: dict[Any, Tally]
    """By what they are counted by: the signature of a loudspeaker, the features of a head unit."""


KEPT = Tally(1, 1, 1)
"""An original that stays."""


def head_units(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], k: int) -> Filled:
    """Head units for the dash opening, or the original where that stays; they are told apart by what matters."""
    if question.dash_id is None:
        return Filled([_original(HEAD_UNIT, None, ORIGINAL_HEAD, scoring)], {(): KEPT})
    return _heads(sweeps, question, scoring, wanted_of(question.job), matter, k, lacking=False)


def heads_lacking(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, matter: tuple[str, ...], k: int) -> Filled:
    """Head units for which nothing speaks against the dash opening but a feature that they lack.

    They are told apart, and counted, by those of their features that matter.
    """
    wanted = replace(wanted_of(question.job), must=())
    return _heads(sweeps, question, scoring, wanted, matter, k, lacking=True)


def _heads(
    sweeps: Sweeps,
    question: JobQuestion,
    scoring: Scoring,
    wanted: Wanted,
    matter: tuple[str, ...],
    k: int,
    *,
    lacking: bool,
) -> Filled:
    supply = sweeps.powered(question.job.vehicle_id)
    if supply == NO or question.dash_id is None:
        return Filled([], {})
    place = Place("dash", "head_unit", question.job.vehicle_id, question.dash_id, question.dash_allowed)
    must = question.job.limits.must or ()

    def read() -> Swept:
        mates = lay_swept(sweeps.con, place, 1, (*COMMON, *HEAD), k, sweeps.settings, wanted)
        sure = f"sure AND {supply == FITS}"
        relation = (
            f"SELECT * REPLACE ({sure} AS sure), NOT ({sure}) OR standby_ma IS NULL AS open, "
            "list_sort(list_intersect(features, $matter::VARCHAR[])) AS telling FROM swept"
        )
        params: dict[str, Any] = {"matter": list(matter)}
        if lacking:
            relation += " WHERE NOT list_has_all(features, $must::VARCHAR[])"
            params["must"] = list(must)
        asked = Order(_named((*COMMON, *HEAD)), ("telling",), _head_merits(scoring), k)
        return read_swept(sweeps.con, mates, asked, relation, params)

    swept: Swept = sweeps.once((place, wanted, matter, must if lacking else None, k, scoring.wishes), read)
    return Filled([_head(row, question.dash_id, supply, scoring) for row in swept.rows], swept.tallies)


def _head_merits(scoring: Scoring) -> Merits:
    return Merits(
        group=(*_named((COMMON[0], *HEAD[HEAD_ITSELF:])), "telling"),
        points=f"{scoring.screen_sql('screen_in')} + {_points_sql(scoring, 'open')}",
        open="open",
        low="coalesce(standby_ma, 0)",
    )


def _points_sql(scoring: Scoring, open: str) -> str:
    """SQL of the points that any part has at an opening."""
    return f"{scoring.look_sql('taken')} + {scoring.price_sql('cents')} + {scoring.unknown_sql(open)}"


def _named(columns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(column.partition(".")[2] for column in columns[1:])


def wanted_of(job: Job) -> Wanted:
    """What a job asks of a head unit."""
    least = job.limits.screen_min_in
    return Wanted(None if least is None else least.value, tuple(job.limits.must or ()))


def _head(row: tuple[Any, ...], dash_id: str, supply: int, scoring: Scoring) -> Candidate:
    adapter_id, step, code, part_id, price, pack_of, labour_h, *rest, adapter = row
    standby_ma, screen_in, features, *signature = rest
    cost = cost_of(1, (price, pack_of, labour_h), adapter, scoring)
    unsure = min(code, supply) != FITS
    points = (
        ("screen", scoring.screen(screen_in)),
        ("original_look", scoring.look(step)),
        ("price", scoring.price(cost.cents)),
        ("known", scoring.unknown(unsure or standby_ma is None)),
    )
    return Candidate(
        slot=HEAD_UNIT,
        opening_id=dash_id,
        part_id=part_id,
        adapter_id=adapter_id,
        step=step,
        unsure=unsure,
        cost=cost,
        drain_ua=_microamps(standby_ma),
        unsure_drain=standby_ma is None,
        points=points,
        signature=HeadSignature(*signature),
        screen_in=screen_in,
        features=None if features is None else frozenset(features),
    )


def speakers(sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, k: int) -> Filled:
    """Loudspeakers for a place within its step, or the original where that stays."""
    if place.kept:
        original = SpeakerSignature(place.factory_ohm, 1, None, original=True)
        return Filled([_original("speaker", place.opening_id, original, scoring)], {original: KEPT})
    fits = Matters(k, f"taken <= {place.allowed}", _points_sql(scoring, "NOT sure"), scoring.unknown(True))
    allowed = LOOSEST if sweeps.trades else place.allowed
    swept = _speakers(sweeps, question, place, allowed, scoring, fits)
    tallies = {SpeakerSignature(ohm, coils, rms_w): tally for (ohm, coils, rms_w), tally in swept.tallies.items()}
    return Filled([_speaker(row, place, scoring) for row in swept.rows], tallies)


def speakers_beyond(sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, scoring: Scoring) -> list[Candidate]:
    """Of the loudspeakers that only more alteration than is allowed would fit: what may be best on some feed.

    The best has most points for level and reach; of equal ones it is the cheapest, then the first by name.
    """
    swept = _speakers(sweeps, question, place, LOOSEST, scoring, _beyond(place))
    return [_speaker(row, place, scoring) for row in swept.rows]


@dataclass(frozen=True)
class Matters:
    """Which loudspeakers of an opening matter, and by what, beside reach and level."""

    k: int
    where: str
    points: str
    doubt: int
    is_open: str = "NOT sure"


def _beyond(place: SpeakerPlace) -> Matters:
    return Matters(1, f"taken > {place.allowed}", "0", 0, is_open="false")


def _speakers(
    sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, allowed: int, scoring: Scoring, matters: Matters
) -> Swept:
    """What matters of an opening within a step; where trade-offs follow, what is beyond is read with what fits."""
    opening = Place("speaker", "speaker", question.job.vehicle_id, place.opening_id, allowed)

    def key(one: Matters) -> object:
        return opening, place.count, one, scoring.wishes

    def read() -> Swept:
        columns = (*COMMON, *SPEAKER)
        mates = lay_swept(sweeps.con, opening, place.count, columns, matters.k, sweeps.settings, NOTHING_WANTED)
        if sweeps.trades and matters != _beyond(place):
            beyond = _read_speakers(sweeps, mates, scoring, _beyond(place))
            sweeps.once(key(_beyond(place)), lambda: beyond)
        return _read_speakers(sweeps, mates, scoring, matters)

    swept: Swept = sweeps.once(key(matters), read)
    return swept


def _read_speakers(sweeps: Sweeps, mates: Mates, scoring: Scoring, matters: Matters) -> Swept:
    if not mates.mouths:
        return Swept([], {})
    merits = Merits(
        group=("impedance_ohm", "coils", "rms_w"),
        points=f"coalesce(low_points, 0) + {matters.points}",
        open=matters.is_open,
        high="coalesce(level_cdb, -1)",
        doubt=matters.doubt,
        mix=max(1, round(sweeps.settings["points_level"] * scoring.wishes.loudness)),
    )
    relation = (
        "SELECT swept.* REPLACE (coalesce(coils, 1) AS coils), low_points, level_cdb FROM swept "
        "LEFT JOIN (SELECT unnest($lows, max_depth := 2)) AS lows USING (low_hz) "
        "LEFT JOIN (SELECT unnest($levels, max_depth := 2)) AS levels USING (sens_db, sens_basis, impedance_ohm) "
        f"WHERE {matters.where}"
    )
    asked = Order(_named((*COMMON, *SPEAKER)), ("impedance_ohm", "coils", "rms_w"), merits, matters.k)
    return read_swept(
        sweeps.con, mates, asked, relation, {"lows": _lows(sweeps.con, scoring), "levels": _levels(sweeps.con)}
    )


def _lows(con: Connection, scoring: Scoring) -> list[dict[str, Any]]:
    """The points for each reach that some loudspeaker has."""
    rows = con.execute("SELECT DISTINCT low_hz FROM swept WHERE low_hz IS NOT NULL").fetchall()
    return [{"low_hz": low_hz, "low_points": scoring.low(low_hz)} for (low_hz,) in rows] or NO_LOWS


def _levels(con: Connection) -> list[dict[str, Any]]:
    """The level at 1 W for each sensitivity that some loudspeaker has."""
    names = ("sens_db", "sens_basis", "impedance_ohm")
    columns = ", ".join(names)
    rows = con.execute(f"SELECT DISTINCT {columns} FROM swept WHERE ({columns}) IS NOT NULL").fetchall()
    told = [dict(zip(names, row, strict=True)) | {"level_cdb": level_at_1w_cdb(*row)} for row in rows]
    return [one for one in told if one["level_cdb"] is not None] or NO_LEVELS


def _speaker(row: tuple[Any, ...], place: SpeakerPlace, scoring: Scoring) -> Candidate:
    adapter_id, step, code, part_id, price, pack_of, labour_h, *rest, adapter = row
    impedance_ohm, coils, rms_w, sens_db, sens_basis, low_hz = rest
    cost = cost_of(place.count, (price, pack_of, labour_h), adapter, scoring)
    points = (
        ("bass", scoring.low(low_hz)),
        ("original_look", scoring.look(step)),
        ("price", scoring.price(cost.cents)),
        ("known", scoring.unknown(code != FITS)),
    )
    return Candidate(
        slot="speaker",
        opening_id=place.opening_id,
        part_id=part_id,
        adapter_id=adapter_id,
        step=step,
        unsure=code != FITS,
        cost=cost,
        drain_ua=0,
        unsure_drain=False,
        points=points,
        signature=SpeakerSignature(impedance_ohm, coils or 1, rms_w),
        level_cdb=level_at_1w_cdb(sens_db, sens_basis, impedance_ohm),
        low_hz=low_hz,
    )


def amplifiers(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> list[Candidate]:
    """Amplifiers for every spot of the vehicle, within the step that a board takes."""
    supply = sweeps.powered(question.job.vehicle_id)
    if supply == NO:
        return []
    vehicle_id = question.job.vehicle_id
    spots = [
        Place("amp_spot", "amplifier", vehicle_id, spot, allowed_step(question.job, spot))
        for spot in question.amp_spots
    ]
    return [
        _amplifier(row, place.opening_id, supply, scoring)
        for place in spots
        if place.allowed >= BOARD_STEP and sweeps.may_hold(place)
        for row in sweeps.amplifiers(place, (*COMMON, *AMPLIFIER, *(FOR_BASS if question.bass_names else ())))
    ]


INPUT_TOLS = ("input_min_v_tol", "input_max_v_tol")
PEAK = frozenset({0, 1, 3, 9, 10, 11})
"""Where the powers stand among an amplifier's figures after its channels: a peak one is none."""


def _amplifier(row: tuple[Any, ...], spot: str, supply: int, scoring: Scoring) -> Candidate:
    step, code, part_id, price, pack_of, labour_h, standby_ma, *tols, basis, channels = row[:11]
    figures: list[Any] = list(row[11:])
    if basis == "peak":
        figures = [None if at in PEAK else figure for at, figure in enumerate(figures)]
    cost = cost_of(1, (price, pack_of, labour_h), (None, None, None), scoring)
    unsure = min(code, supply) != FITS
    points = (
        ("original_look", scoring.look(step)),
        ("price", scoring.price(cost.cents)),
        ("known", scoring.unknown(unsure or standby_ma is None)),
    )
    return Candidate(
        slot="amplifier",
        opening_id=spot,
        part_id=part_id,
        adapter_id=None,
        step=step,
        unsure=unsure,
        cost=cost,
        drain_ua=_microamps(standby_ma),
        unsure_drain=standby_ma is None,
        points=points,
        signature=AmplifierSignature(channels, *figures, **dict(zip(INPUT_TOLS, tols, strict=True))),
    )


def _original(slot: str, opening_id: str | None, signature: Any, scoring: Scoring) -> Candidate:
    return Candidate(
        slot=slot,
        opening_id=opening_id,
        part_id=None,
        adapter_id=None,
        step=0,
        unsure=False,
        cost=NO_COST,
        drain_ua=0,
        unsure_drain=False,
        points=(),
        signature=signature,
    )


def cost_of(pieces: int, part: tuple[Any, ...], adapter: Any, scoring: Scoring) -> Cost:
    """Whole packs of the part and its adapter, and the labor of fitting each piece."""
    rate = scoring.settings["labour_rate"]
    packs, goods, work = _packs(pieces, part, rate)
    adapter_packs, adapter_goods, adapter_work = _packs(pieces, adapter, rate)
    return Cost(pieces, packs, adapter_packs, goods + adapter_goods, work + adapter_work)


def _packs(pieces: int, thing: Any, rate: Decimal) -> tuple[int, int, int]:
    """Packs, their price and the labor, in cents; nothing where there is no such thing."""
    price, pack_of, labour_h = thing
    if price is None:
        return 0, 0, 0
    packs = packs_for(pieces, pack_of or 1)
    return packs, cents(price * packs), cents((labour_h or Decimal(0)) * pieces * rate)


def _microamps(standby_ma: Decimal | None) -> int:
    return int((standby_ma or Decimal(0)) * 1000)
