"""Hearing: the allowed time at a level by each standard, and the daily dose."""

from __future__ import annotations

from dataclasses import dataclass, field

from catalog_schema.answers import Answer
from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.formulas import exposure
from matcher.formulas.exposure import ExposureRule, Listening

WEEK_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell(Answer):
    """A level, and its duration in a day."""

    level_dba: float | None = None
    hours_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureInputs(Answer):
    """A level at the ear, its hours, and other exposures of the same day."""

    level_dba: float | None = None
    hours_h: float | None = None
    also: list[Spell] = field(default_factory=list)
    sensitive: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleDose(Answer):
    """One standard's verdict on a day."""

    rule: str = result("rule")
    allowed_h: float | None = result("allowed a day")
    dose_pct: float | None = result("dose of the day")
    source: str = result("source")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure(Calculation):
    """Allowed time and daily dose."""

    given: ExposureInputs
    allowed_h: float | None = result("NIOSH allows a day", exposure.allowed_h, wants="level_dba")
    dose_pct: float | None = result("NIOSH dose of the day", exposure.dose_pct, wants="level_dba hours_h")
    week_h: float | None = result("WHO allows a week", exposure.week_h, wants="level_dba")
    week_pct: float | None = result("WHO share of a week of such days", exposure.week_h, wants="level_dba hours_h")
    rules: list[RuleDose] = field(
        default_factory=list, metadata=table("by rule", exposure.allowed_h, exposure.dose_pct)
    )


def exposure_for(inputs: ExposureInputs) -> Exposure:
    """Compute the allowed time at a level, and the dose of a day with it."""
    spells = [Listening(inputs.level_dba, inputs.hours_h)]
    spells += [Listening(spell.level_dba, spell.hours_h) for spell in inputs.also]
    rules = (exposure.NIOSH, exposure.OSHA, exposure.FEDERAL_87)
    return Exposure(
        given=inputs,
        allowed_h=exposure.allowed_h(inputs.level_dba),
        dose_pct=exposure.dose_pct(spells),
        week_h=exposure.week_h(inputs.level_dba, sensitive=inputs.sensitive),
        week_pct=_week_pct(spells, sensitive=inputs.sensitive),
        rules=[_dose(rule, inputs.level_dba, spells) for rule in rules],
        cautions=[cautions.HEARING, cautions.LEVEL_AT_EAR],
    )


def _dose(rule: ExposureRule, level_dba: float | None, spells: list[Listening]) -> RuleDose:
    return RuleDose(
        rule=rule.name,
        allowed_h=exposure.allowed_h(level_dba, rule),
        dose_pct=exposure.dose_pct(spells, rule),
        source=str(rule.source),
    )


def _week_pct(spells: list[Listening], *, sensitive: bool) -> float | None:
    shares = []
    for spell in spells:
        allowed = exposure.week_h(spell.level_dba, sensitive=sensitive)
        if allowed is None or spell.hours is None:
            return None
        shares.append(100 * WEEK_DAYS * spell.hours / allowed)
    return sum(shares)
