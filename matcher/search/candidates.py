"""Candidates of a job's slots, priced and scored."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from catalog_schema.jobs import Job
from matcher.rules.rule import FITS, NO
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
from matcher.search.question import HEAD_UNIT, JobQuestion, SpeakerPlace, allowed_step
from matcher.search.scoring import Scoring, level_at_1w_cdb
from matcher.search.sweep import BOARD_STEP, Place, Sweeps, Wanted

COMMON = ("part.part_id", "part.price", "part.pack_of", "part.labour_h")
ADAPTERS = ("adapter_part.price", "adapter_part.pack_of", "adapter_part.labour_h")
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

ORIGINAL_HEAD = HeadSignature(None, None, None, None, None)


def head_units(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> list[Candidate]:
    """Head units for the dash opening, or the original where that stays."""
    return _heads(sweeps, question, scoring, wanted_of(question.job))


def heads_lacking(sweeps: Sweeps, question: JobQuestion, scoring: Scoring) -> list[Candidate]:
    """Head units for which nothing speaks against the dash opening but a feature that they lack."""
    must = frozenset(question.job.limits.must or ())
    every = _heads(sweeps, question, scoring, replace(wanted_of(question.job), must=()))
    return [one for one in every if one.features is not None and not must <= one.features]


def _heads(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, wanted: Wanted) -> list[Candidate]:
    if question.dash_id is None:
        return [_original(HEAD_UNIT, None, ORIGINAL_HEAD, scoring)]
    supply = sweeps.powered(question.job.vehicle_id)
    if supply == NO:
        return []
    place = Place("dash", "head_unit", question.job.vehicle_id, question.dash_id, question.dash_allowed)
    rows = sweeps.mounted(place, (*COMMON, *ADAPTERS, *HEAD), wanted)
    return [_head(row, question.dash_id, supply, scoring) for row in rows]


def wanted_of(job: Job) -> Wanted:
    """What a job asks of a head unit."""
    least = job.limits.screen_min_in
    return Wanted(None if least is None else least.value, tuple(job.limits.must or ()))


def _head(row: tuple[Any, ...], dash_id: str, supply: int, scoring: Scoring) -> Candidate:
    adapter_id, step, code, part_id, price, pack_of, labour_h, *rest = row
    adapter, (standby_ma, screen_in, features, *signature) = rest[:3], rest[3:]
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


def speakers(sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, scoring: Scoring) -> list[Candidate]:
    """Loudspeakers for a place within its step, or the original where that stays."""
    if place.kept:
        original = SpeakerSignature(place.factory_ohm, 1, None, original=True)
        return [_original("speaker", place.opening_id, original, scoring)]
    opening = Place("speaker", "speaker", question.job.vehicle_id, place.opening_id, place.allowed)
    rows = sweeps.mounted(opening, (*COMMON, *ADAPTERS, *SPEAKER))
    return [_speaker(row, place, scoring) for row in rows]


def _speaker(row: tuple[Any, ...], place: SpeakerPlace, scoring: Scoring) -> Candidate:
    adapter_id, step, code, part_id, price, pack_of, labour_h, *rest = row
    adapter, (impedance_ohm, coils, rms_w, sens_db, sens_basis, low_hz) = rest[:3], rest[3:]
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
