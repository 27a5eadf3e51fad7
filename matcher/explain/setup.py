"""Set-up of a job: what to measure, and what was measured against it."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.answers import Link
from catalog_schema.choices import Choice, GainTarget, Setup, ToneTarget
from catalog_schema.jobs import Job
from matcher.explain import wording_choices as says
from matcher.explain.calc.gain import TONES_DB
from matcher.formulas.line_level import gain_target_v
from matcher.settings import Settings
from matcher.store.connection import Connection


def setup_plan(con: Connection, job: Job, choice: Choice | None, settings: Settings) -> Setup:
    """What to measure at set-up: the targets of the chosen package, everything still open."""
    gains = [] if choice is None else [gain_target(link) for link in choice.package.links]
    return Setup(
        job_id=job.job_id,
        choice=None if choice is None else choice.number,
        number=None,
        set_up_at=None,
        by=None,
        note=None,
        source=None,
        output=[],
        last_clean_step=None,
        first_clipped_step=None,
        clean_v=None,
        doubtful=[],
        gains=gains,
        claims=[],
        checks=[],
        values=[],
        replaced=[],
        to_measure=says.to_measure(gains),
        verdict="measure",
        cautions=says.SETUP_CAUTIONS,
    )


def gain_target(link: Link) -> GainTarget:
    """What a feed is to be set to; a head unit's own amplifier has no gain to set."""
    return GainTarget(
        opening_id=link.to[0],
        source=link.from_,
        channels=link.channels,
        load_ohm=link.load_ohm,
        power_w=link.power_w,
        target_v=link.target_v,
        tones=[_tone(link.target_v, tone) for tone in TONES_DB],
    )


def _tone(target_v: Decimal | None, tone_db: float) -> ToneTarget:
    # The target stands over the load of 1 ohm at the square of its volts: the formula gives the tone's share of it.
    full = None if target_v is None else float(target_v) ** 2
    none, overlap = (gain_target_v(full, 1.0, tone_db, more) for more in (0.0, -tone_db))
    return ToneTarget(tone_db=Decimal(str(tone_db)), no_overlap_v=_volts(none), overlap_v=_volts(overlap))


def _volts(volts: float | None) -> Decimal | None:
    return None if volts is None else round(Decimal(str(volts)), 2)
