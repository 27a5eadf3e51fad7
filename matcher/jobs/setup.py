"""Set-up of a job: values to measure, and measured values compared with their targets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from catalog_schema.answers import Link, Verdict, verdict_of, worst
from catalog_schema.choices import (
    Choice,
    ClaimMet,
    GainTarget,
    OutputStep,
    Setup,
    SetupCheck,
    SetupValue,
    ToneTarget,
)
from catalog_schema.jobs import Job
from catalog_schema.units import UNITS, unit_of_field
from matcher.calculators.gain import TONES_DB
from matcher.formulas.line_level import CleanLimit, SetupStep, gain_target_v, input_match, last_clean_step
from matcher.jobs import messages as says
from matcher.settings import Settings
from matcher.store.readings.job_fields import RIGHT


@dataclass(frozen=True, slots=True)
class SetupReadings:
    """Values read so far: the job's fields by name, and the steps of the head unit's volume."""

    values: Mapping[str, str]
    output: Sequence[OutputStep]

    def number(self, name: str) -> Decimal | None:
        """Return a figure of the job; None if it has not been read."""
        return Decimal(self.values[name]) if name in self.values else None

    @property
    def limit(self) -> CleanLimit | None:
        """Return the last clean step of the volume log."""
        steps = (
            SetupStep(float(one.step), None if one.volts is None else float(one.volts), one.clean)
            for one in self.output
        )
        return last_clean_step(steps)


def with_limit(read: SetupReadings) -> SetupReadings:
    """Add the values derived from the volume steps; values entered directly take precedence."""
    limit = read.limit
    if limit is None:
        return read
    figures = {"clean_step": limit.step, "clipped_step": limit.first_clipped, "clean_v": limit.volts}
    derived = {name: f"{Decimal(str(figure)).normalize():f}" for name, figure in figures.items() if figure is not None}
    return SetupReadings({**derived, **read.values}, read.output)


def setup_of(job: Job, choice: Choice | None, read: SetupReadings, settings: Settings) -> Setup:
    """Compare the values read with the chosen package; without a package, list the values to measure."""
    gains = _gains(choice, read, settings)
    checks = [] if choice is None else list(_checks(job, choice, read, settings))
    limit = read.limit
    open_ = says.to_measure(gains, checks, read.values) if choice is not None else []
    verdicts = [gain.verdict for gain in gains] + [check.verdict for check in checks]
    return Setup(
        job_id=job.job_id,
        choice=None if choice is None else choice.number,
        number=None,
        set_up_at=None,
        by=None,
        note=None,
        source=None,
        output=sorted(read.output, key=lambda one: one.step),
        last_clean_step=read.number("clean_step"),
        first_clipped_step=read.number("clipped_step"),
        clean_v=read.number("clean_v"),
        doubtful=[Decimal(str(step)) for step in limit.doubtful] if limit is not None else [],
        gains=gains,
        claims=[] if choice is None else list(_claims(choice, read)),
        checks=checks,
        values=[SetupValue(field=name, value=text, unit=_unit(name)) for name, text in read.values.items()],
        replaced=[],
        to_measure=open_,
        verdict="measure" if choice is None else worst([*verdicts, "measure" if open_ else "fits"]),
        cautions=says.SETUP_CAUTIONS,
    )


def _unit(name: str) -> str:
    unit = unit_of_field(name.partition(".")[0])
    return UNITS[unit].symbol if unit else ""


def _gains(choice: Choice | None, read: SetupReadings, settings: Settings) -> list[GainTarget]:
    """Yield a target for every feed of an amplifier; a head unit's own output has no gain to set."""
    links = [] if choice is None else [link for link in choice.package.links if link.slot != "head_unit"]
    found = []
    for link in links:
        # Places that share channels share their gain: the lower of their targets applies to both.
        alike = [other.target_v for other in links if other is link or set(other.to) & set(link.beside)]
        target = None if None in alike else min(volts for volts in alike if volts is not None)
        found.append(_gain(link, target, read, settings))
    return found


def _gain(link: Link, target_v: Decimal | None, read: SetupReadings, settings: Settings) -> GainTarget:
    place = link.to[0]
    volts, tone = read.number(f"gain_v.{place}"), read.number(f"tone_db.{place}") or Decimal(0)
    own = _tone(target_v, tone)
    gain = GainTarget(
        opening_id=place,
        source=link.from_,
        channels=link.channels,
        load_ohm=link.load_ohm,
        power_w=link.power_w,
        target_v=target_v,
        tones=[_tone(target_v, Decimal(str(level))) for level in TONES_DB],
        read_v=volts,
        tone_db=None if volts is None else tone,
        verdict=_gain_verdict(volts, own.overlap_v, settings["gain_over_pct"]),
    )
    return replace(gain, says=says.gain_says(gain, own))


def _gain_verdict(volts: Decimal | None, most_v: Decimal | None, over_pct: Decimal) -> Verdict:
    """Return the verdict on a gain: at or below its target it does no harm; above, it may."""
    if volts is None or most_v is None:
        return "measure"
    return verdict_of(most_v * (1 + over_pct / 100) - volts, Decimal(0))


def _tone(target_v: Decimal | None, tone_db: Decimal) -> ToneTarget:
    # Into 1 ohm, power is voltage squared, so the formula gives the power at the tone's level.
    full = None if target_v is None else float(target_v) ** 2
    none, overlap = (gain_target_v(full, 1.0, float(tone_db), more) for more in (0.0, -float(tone_db)))
    return ToneTarget(tone_db=tone_db, no_overlap_v=_volts(none), overlap_v=_volts(overlap))


def _volts(volts: float | None) -> Decimal | None:
    return None if volts is None else round(Decimal(str(volts)), 2)


def _checks(job: Job, choice: Choice, read: SetupReadings, settings: Settings) -> Iterator[SetupCheck]:
    yield from _polarity(choice, read)
    yield from _inputs(choice, read)
    resting = job.limits.at_rest_ma
    limit = settings["at_rest_ma"] if resting is None else resting.value
    drain = added_ma(read)
    verdict = verdict_of(None if drain is None else limit - drain, Decimal(0))
    yield says.drain_check(verdict, drain, limit, known_before="rest_before_ma" in read.values)


def added_ma(read: SetupReadings) -> Decimal | None:
    """Return the added standby drain (mA); the whole drain if the earlier one is not known."""
    after, before = read.number("rest_ma"), read.number("rest_before_ma")
    return None if after is None else max(Decimal(0), after - (before or 0))


def _polarity(choice: Choice, read: SetupReadings) -> Iterator[SetupCheck]:
    for place in dict.fromkeys(name for link in choice.package.links for name in link.to):
        found = read.values.get(f"polarity.{place}")
        verdict: Verdict = "measure" if found is None else "fits" if found == RIGHT else "no"
        yield says.polarity_check(place, verdict, found)


def _inputs(choice: Choice, read: SetupReadings) -> Iterator[SetupCheck]:
    """Yield the head unit's clean output against the input of each amplifier that it feeds."""
    clean = read.number("clean_v")
    for slot in ("amplifier", "bass_amplifier"):
        part = next((line.part_id for line in choice.package.lines if line.slot == slot), None)
        if part is None:
            continue
        least, most = (figure(choice, f"part:{part}", name) for name in ("input_min_v", "input_max_v"))
        match = input_match(*(None if one is None else float(one) for one in (clean, least, most)))
        yield says.input_check(part, match, clean, least, most)


def figure(choice: Choice, subject: str, name: str) -> Decimal | None:
    return next((Decimal(one.value) for one in choice.figures if (one.subject, one.field) == (subject, name)), None)


def _claims(choice: Choice, read: SetupReadings) -> Iterator[ClaimMet]:
    """Yield measured values with the claimed or computed ones."""
    supply = choice.package.supply
    head = head_unit(choice)
    job = f"job:{choice.job_id}"
    rows = [
        (f"part:{head}", "preout_v", None if head is None else figure(choice, f"part:{head}", "preout_v"), "clean_v"),
        (job, "music_a", None if supply is None else supply.music_a, "music_a"),
        (job, "full_a", None if supply is None else supply.full_a, "full_a"),
    ]
    resting = added_ma(read) if "rest_before_ma" in read.values else None
    found = [(subject, name, claimed, read.number(field)) for subject, name, claimed, field in rows]
    found.append((job, "standby_ma", None if supply is None else supply.standby_ma, resting))
    for subject, name, claimed, measured in found:
        if measured is not None and (subject, name) != ("part:None", "preout_v"):
            met = ClaimMet(subject=subject, field=name, unit=_unit(name), claimed=claimed, measured=measured)
            yield replace(met, says=says.claim_met_says(met))


def head_unit(choice: Choice) -> str | None:
    """Return the chosen head unit; None if the original stays."""
    return next((line.part_id for line in choice.package.lines if line.slot == "head_unit"), None)
