"""Gain: target voltage, the last clean step of a head unit, and its match with an amplifier's input range."""

from __future__ import annotations

from dataclasses import dataclass, field

from catalog_schema.answers import Answer
from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.formulas import clipping, line_level
from matcher.formulas.line_level import CleanLimit, SetupStep

TONES_DB = (0.0, -5.0, -10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class GainInputs(Answer):
    """The power wanted into a load, the source's clean output or its log, the amplifier's input range."""

    power_w: float | None = None
    load_ohm: float | None = None
    clean_v: float | None = None
    log: str | None = None
    input_min_v: float | None = None
    input_max_v: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneVolts(Answer):
    """Voltage at the amplifier's terminals with a tone of this level."""

    tone_db: float = result("tone")
    no_overlap_v: float | None = result("no overlap")
    overlap_v: float | None = result("overlap as the tone")
    clipped_thd_pct: float | None = result("a full-scale sine then distorts")
    clipped_w: float | None = result("and gives")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain(Calculation):
    """Target voltages, and the source's clean output."""

    given: GainInputs
    target_v: float | None = result("target at 0 dB", line_level.gain_target_v, wants="power_w load_ohm")
    last_clean_step: float | None = result("last clean step", line_level.last_clean_step, wants="log", unit="")
    first_clipped_step: float | None = result("first clipped step", wants="log", unit="")
    clean_v: float | None = result("clean output", line_level.last_clean_step, wants="log|clean_v")
    input_place: str | None = result(
        "clean output against the input's range",
        line_level.input_match,
        wants="log|clean_v input_min_v input_max_v",
    )
    reach_pct: float | None = result("full power that is reached", wants="log|clean_v input_min_v input_max_v")
    over_db: float | None = result("input overloaded by", wants="log|clean_v input_min_v input_max_v")
    targets: list[ToneVolts] = field(
        default_factory=list, metadata=table("targets", line_level.gain_target_v, clipping.clipped_sine)
    )


def gain_for(inputs: GainInputs, log: list[SetupStep] | None = None) -> Gain:
    """Compute the target voltages of a gain and the source's clean output; a log replaces the claimed output."""
    limit = line_level.last_clean_step(log) if log else None
    clean = inputs.clean_v if limit is None else limit.volts
    match = line_level.input_match(clean, inputs.input_min_v, inputs.input_max_v)
    return Gain(
        given=inputs,
        target_v=line_level.gain_target_v(inputs.power_w, inputs.load_ohm),
        last_clean_step=None if limit is None else limit.step,
        first_clipped_step=None if limit is None else limit.first_clipped,
        clean_v=clean,
        input_place=None if match is None else match.place,
        reach_pct=None if match is None else 100 * match.reach,
        over_db=None if match is None else match.over_db,
        targets=[_target(inputs, tone) for tone in TONES_DB],
        none=_none(limit),
        notes=_notes(limit),
        cautions=[cautions.METER_FIRST, cautions.HEARING],
    )


def _target(inputs: GainInputs, tone_db: float) -> ToneVolts:
    clipped, power = clipping.clipped_sine(-tone_db), inputs.power_w
    return ToneVolts(
        tone_db=tone_db,
        no_overlap_v=line_level.gain_target_v(inputs.power_w, inputs.load_ohm, tone_db),
        overlap_v=line_level.gain_target_v(inputs.power_w, inputs.load_ohm, tone_db, -tone_db),
        clipped_thd_pct=None if clipped is None else clipped.thd_pct,
        clipped_w=None if clipped is None or power is None else power * clipped.power_ratio,
    )


def _none(limit: CleanLimit | None) -> dict[str, str]:
    if limit is None:
        return {}
    none = {}
    if limit.step is None:
        none["last_clean_step"] = "even the lowest step clips"
        none["clean_v"] = none["last_clean_step"]
    elif limit.volts is None:
        none["clean_v"] = f"no volts were read at step {limit.step:g}"
    if limit.first_clipped is None:
        none["first_clipped_step"] = "the log never reached clipping"
    return none


def _notes(limit: CleanLimit | None) -> list[str]:
    notes = [
        "no overlap: a full-scale recording just reaches the power; "
        "overlap as the tone: it may overdrive the amplifier by as many dB as the tone lies under full scale"
    ]
    if limit is not None and limit.doubtful:
        steps = ", ".join(f"{step:g}" for step in limit.doubtful)
        notes.append(f"step {steps} was called clean over a clipped one: read it again")
    return notes
