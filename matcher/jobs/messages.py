"""Sentences about choices, changes since, and set-up."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from decimal import Decimal

from catalog_schema.checks import Verdict
from catalog_schema.choices import (
    ChoiceChange,
    ChoiceChanges,
    ClaimMet,
    GainTarget,
    OpenPoint,
    Setup,
    SetupCheck,
    ToneTarget,
)
from matcher.answers.messages import VERDICT_WORDS, amount
from matcher.answers.messages_measure import entry_says
from matcher.calculators import cautions
from matcher.formulas.line_level import InputMatch
from matcher.store.readings.job_fields import RIGHT
from matcher.store.readings.subjects import split_figure

SETUP_WORDS = {"fits": "as it should be", "no": "NOT RIGHT", "measure": "to measure"}
SETUP_CAUTIONS = [cautions.METER_FIRST, cautions.HEARING]
BETWEEN = " to "
"""Separates the two ends of an input's range."""


def to_measure(gains: Sequence[GainTarget], checks: Sequence[SetupCheck], read: Collection[str]) -> list[str]:
    """Return the values that a set-up still has to measure, in working order."""
    waiting = {check.name for check in checks if check.verdict == "measure"}
    places = [check.about for check in checks if check.name == "polarity" and check.verdict == "measure"]
    return [
        *(f"polarity at {place}" for place in places),
        *([] if "clean_v" in read else ["the head unit's output by volume step, and where it clips"]),
        *(f"gain at {gain.opening_id}" for gain in gains if gain.read_v is None),
        *([] if "music_a" in read or not gains else ["current of the amplifiers on music"]),
        *(["standby drain"] if "standby drain" in waiting else []),
    ]


def gain_says(gain: GainTarget, own: ToneTarget) -> str:
    """Sentence about setting a gain."""
    if gain.target_v is None:
        return "no target: its power or its load is not known"
    if gain.read_v is None:
        return f"set it to {amount(gain.target_v, 'V')} with a full-scale sine"
    tone = "" if not gain.tone_db else f" with a tone of {amount(gain.tone_db, 'dB')}"
    read = f"reads {amount(gain.read_v, 'V')}{tone}"
    if gain.verdict == "no":
        return f"{read}: over its target of {amount(own.overlap_v, 'V')}, turn it down"
    if own.no_overlap_v is not None and gain.read_v < own.no_overlap_v:
        return f"{read}: under {amount(own.no_overlap_v, 'V')}, safe, and quieter than it could be"
    return f"{read}: as it should be, at most {amount(own.overlap_v, 'V')}"


def polarity_check(place: str, verdict: Verdict, found: str | None) -> SetupCheck:
    """Polarity at an opening."""
    state = {"fits": "right", "no": "wrong: swap plus and minus at one end", "measure": "not checked yet"}
    return SetupCheck(
        name="polarity",
        about=place,
        verdict=verdict,
        have=found,
        need=RIGHT,
        says=f"polarity at {place}: {state[verdict]}",
    )


def drain_check(verdict: Verdict, drain_ma: Decimal | None, limit_ma: Decimal, *, known_before: bool) -> SetupCheck:
    """Standby drain against its limit."""
    what = "added at rest" if known_before else "at rest, all that the car draws"
    value = "not read yet" if drain_ma is None else f"{amount(drain_ma, 'mA')} {what}"
    return SetupCheck(
        name="standby drain",
        about="car",
        verdict=verdict,
        have=None if drain_ma is None else amount(drain_ma),
        need=amount(limit_ma),
        unit="mA",
        says=f"drain: {value}, at most {amount(limit_ma, 'mA')}",
    )


def input_check(
    part: str, match: InputMatch | None, clean_v: Decimal | None, least_v: Decimal | None, most_v: Decimal | None
) -> SetupCheck:
    """A head unit's clean output against the input of an amplifier."""
    between = f"{amount(least_v)}{BETWEEN}{amount(most_v, 'V')}"
    check = SetupCheck(
        name="input",
        about=part,
        verdict="measure",
        have=None if clean_v is None else amount(clean_v),
        need=between,
        unit="V",
        says=f"input of {part}: clean output {amount(clean_v, 'V')}, it takes {between}",
    )
    if match is None:
        return check
    places = {
        "within": "within",
        "below": f"below, {amount(round(Decimal(100 * match.reach)), '%')} of full power can be reached",
        "above": f"above by {amount(round(Decimal(match.over_db), 1), 'dB')}, keep the volume under that step",
    }
    return replace(
        check, verdict="fits" if match.place == "within" else "no", says=f"{check.says}: {places[match.place]}"
    )


def claim_met_says(met: ClaimMet) -> str:
    """Sentence that compares a claim with the measured value."""
    how = "claimed" if met.subject.startswith("part:") else "computed"
    claimed = f"nothing {how}" if met.claimed is None else f"{how} {amount(met.claimed, met.unit)}"
    return f"{met.subject} {met.field}: {claimed}, measured {amount(met.measured, met.unit)}"


def figure(value: str, tol: Decimal | None) -> str:
    return value if tol is None else f"{value} ±{amount(tol)}"


def change_says(change: ChoiceChange) -> str:
    """Sentence about one change since a choice."""
    name, before, after = change.subject, change.before, change.after
    match change.what:
        case "withdrawn":
            return f"{name} was withdrawn from the catalog"
        case "price":
            what = "labor" if change.name == "labour" else "the price"
            return f"{name}: {what} moved from {before} to {after}"
        case "reading":
            return f"{name} {change.name}: measured {after}, was {before or 'not known'}"
        case "figure":
            return f"{name} {change.name}: {after or 'not known'} now, was {before or 'not known'}"
        case "lost":
            return LOST
        case "better":
            return f"there is a better package now: {after}"
        case "breaks":
            return f"{change.name} breaks. {change.says}"
        case "clears":
            return f"{change.name} is cleared. {change.says}"
        case _:
            return f"{change.name} is to be measured. {change.says}"


LOST = "the package cannot be put together any more as it was chosen"


def nothing_chosen_says(job_id: str) -> str:
    """A job without a choice."""
    return f"no package is chosen: boltback choose {job_id} K fixes package K"


def withdrawn_says(part_id: str) -> str:
    """Sentence about a part that is no longer in the catalog."""
    return f"part {part_id} was withdrawn from the catalog"


def figure_open_says(name: str, *, is_missing: bool) -> str:
    """Sentence about a figure to measure, and how to enter it."""
    state = "is not known" if is_missing else "is not known closely enough"
    return f"{name} {state}: {entry_says(*split_figure(name))}"


def set_up_open_says(setup: Setup) -> str:
    """Sentence about values that a set-up has not read yet."""
    return f"set-up, not read: {', '.join(setup.to_measure)}"


def went_on_says(note: str, points: Sequence[OpenPoint]) -> str:
    """Log line for an order or a signature given in spite of open points."""
    return f"{note} (open: {'; '.join(f'{point.what} {point.subject}' for point in points)})"


def changes_says(found: ChoiceChanges) -> str:
    """Sentence about the state of a choice today."""
    evaluated = f"asked again on version {found.catalog_now} of the catalog"
    if not found.changes:
        return f"{evaluated}: nothing has changed since it was chosen"
    if found.total_now is None:
        money = ""
    elif found.total_now == found.total_then:
        money = ", at the same price"
    else:
        money = f", {found.total_now:.2f} instead of {found.total_then:.2f}"
    count = len(found.changes)
    things = "one thing has" if count == 1 else f"{count} things have"
    verdict = f"it {'still holds' if found.stands else 'does not hold any more'}"
    return f"{evaluated}: {things} changed, {verdict} ({VERDICT_WORDS[found.verdict_now].lower()}){money}"


def setup_headline(setup: Setup) -> str:
    """Headline of a set-up and its result."""
    if setup.choice is None:
        return f"{setup.job_id}: no package is chosen yet; boltback choose {setup.job_id} K fixes package K"
    if setup.number is None:
        return f"{setup.job_id}: to measure at set-up of choice {setup.choice}"
    clean = (
        ""
        if setup.last_clean_step is None
        else f"; clean up to step {amount(setup.last_clean_step)}, {amount(setup.clean_v, 'V')}"
    )
    doubt = f"; read again: step {', '.join(map(amount, setup.doubtful))}" if setup.doubtful else ""
    outcome = {"fits": "all as it should be", "no": "NOT AS IT SHOULD BE", "measure": "not finished"}[setup.verdict]
    return f"{setup.job_id}: set-up {setup.number} of choice {setup.choice} by {setup.by}: {outcome}{clean}{doubt}"


def tone_says(tone: ToneTarget) -> str:
    """Sentence about setting a gain by a tone, from no overlap to an overlap of the tone's level below full scale."""
    return f"{amount(tone.no_overlap_v)} to {amount(tone.overlap_v, 'V')}"
