"""The sentences of answers: generated from data, never parsed, free to change.

All follow one order: the fact with both numbers and their unit, then the fix.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from catalog_schema.checks import Check, CutNeeded, Fit
from catalog_schema.figure_labels import figure_label
from catalog_schema.ladder import LADDER_MEANING
from matcher.answers.sentences import Amount, Sentence
from matcher.rules.rule import Rule, rule_named

if TYPE_CHECKING:
    from catalog_schema.answers import Hearing, Options, Price, StepGain, TradeOff
    from catalog_schema.jobs import Job
    from matcher.search.fits.tally import Miss
    from matcher.store.readings.claims import ClaimBeside

VERDICT_WORDS = {"fits": "FITS", "no": "DOES NOT FIT", "measure": "MEASURE FIRST"}


BESIDE = " beside "
"""Separator of two things on one spot in the subject of a check."""


def amount(number: Decimal | int | float | None, unit: str = "") -> Amount:
    """Format a number with its unit, as a person writes it."""
    return Amount(number, unit)


def money(number: object) -> str:
    """Format money as on a bill."""
    return f"{number:.2f}"


def check_says(check: Check) -> str:
    """Describe a check in a sentence."""
    rule = rule_named(check.rule)
    about = f"{check.about}: " if check.about else ""
    if check.evidence:
        return f"{about}fitted before: {check.evidence}"
    if check.missing:
        return f"{about}not known: {_figures(check.missing)}{_would_fit(check)}"
    if check.verdict == "no":
        fix = f"; {rule.fix}" if rule.fix else ""
        numbers = f": {_numbers(check, rule)}" if rule.unit else ""
        return f"{about}{rule.flaw}{numbers}{fix}"
    if check.verdict == "measure":
        again = f"measure {_figures(check.loose[:1])} again: " if check.loose else ""
        good_to = f"figures good to ±{amount(check.tol, check.unit)}"
        return f"{about}too close to call: {again}{_numbers(check, rule)}, {good_to}"
    if rule.unit in UNCOUNTED:
        return f"{about}matches"
    spare = amount(check.margin, check.unit)
    return f"{about}{spare} to spare: has {amount(check.have, check.unit)}, needs {amount(check.need, check.unit)}"


def _figures(names: Iterable[str]) -> str:
    return ", ".join(figure_label(name, with_subject=True) for name in names)


UNCOUNTED = frozenset({"", "bolts", "coils"})


def _numbers(check: Check, rule: Rule) -> str:
    if check.margin is None or rule.unit == "":
        return "as the figures stand"
    gap = amount(abs(check.margin), check.unit)
    how = "short by" if check.margin < 0 else "spare"
    return f"needs {amount(check.need, check.unit)}, has {amount(check.have, check.unit)}, {how} {gap}"


def _would_fit(check: Check) -> str:
    if check.fits_up_to is not None:
        return f"; would fit up to {amount(check.fits_up_to, check.unit)}"
    if check.fits_from is not None:
        return f"; would fit from {amount(check.fits_from, check.unit)} on"
    if check.need is None and check.have is not None and len(check.missing) == 1:
        return f"; there is {amount(check.have, check.unit)}"
    if check.have is None and check.need is not None and len(check.missing) == 1:
        return f"; it has to be {amount(check.need, check.unit)} or more"
    return ""


def fit_with_words(fit: Fit) -> Fit:
    """Return a fit with a sentence in each of its checks."""
    without = None if fit.without is None else fit_with_words(fit.without)
    return replace(fit, checks=[replace(check, says=check_says(check)) for check in fit.checks], without=without)


def paid_in(currency: str, tax_pct: Decimal) -> str:
    """Return the currency of amounts, and whether they include tax.

    >>> paid_in("EUR", Decimal("20.000")), paid_in("", Decimal(0))
    ('EUR with 20 % tax', '(no currency set) without tax')
    """
    tax = f"with {tax_pct.normalize():f} % tax" if tax_pct else "without tax"
    return f"{currency or '(no currency set)'} {tax}"


def total_says(price: Price) -> str:
    """Describe the price of a package: amount, currency, and included tax."""
    return f"{money(price.total)} {paid_in(price.currency, price.tax_pct)}"


def fit_headline(fit: Fit) -> str:
    """Return the verdict in one line."""
    adapter = f" with adapter {fit.adapter_id}" if fit.adapter_id else ""
    turned = ", turned a quarter" if fit.turned else ""
    return f"{fit.part_id} in {fit.opening}{adapter}{turned}: {VERDICT_WORDS[fit.verdict]} at {fit.asked}"


def alteration_says(fit: Fit) -> str:
    """Describe the alteration of a fit in one line."""
    if fit.alteration is None:
        return f"no alteration would make it fit{_tried_says(fit)}"
    return f"least alteration: {_step_says(fit.alteration)}{cut_says(fit.cut)}"


def _step_says(step: str) -> str:
    return f"{step} ({LADDER_MEANING[step]})"


def _tried_says(fit: Fit) -> str:
    if fit.adapter_id is not None:
        return " with this adapter"
    if fit.adapters_tried is None:
        return " without an adapter"
    if not fit.adapters_tried:
        return ", and the catalog has no adapter for this kind of opening"
    return f", and none of the catalog's {fit.adapters_tried} adapters for this kind of opening helps"


def without_says(fit: Fit) -> str:
    """Describe in one line the result without the adapter from the catalog."""
    bare = fit.without
    if bare is None:
        return ""
    wrong = next(check for check in bare.checks if check.verdict == "no")
    least = f"it needs {_step_says(bare.alteration)}" if bare.alteration else "it does not fit"
    rule = rule_named(wrong.rule)
    return f"without the adapter {least}: {rule.flaw}: {_numbers(wrong, rule)}"


def cut_says(cut: CutNeeded | None) -> str:
    """Return a cut as the tail of a sentence; empty if there is none."""
    if cut is None:
        return ""
    size = f"{amount(cut.w_mm, 'mm')} x {amount(cut.h_mm, 'mm')}"
    return f"; the opening would be cut to {size}{f', {cut.material}' if cut.material else ''}"


WANTED_WORDS = {
    "head_unit": "head unit wanted",
    "bass": "bass wanted",
    "film": "film wanted",
    "security": "security wanted",
}
"""Kinds of equipment as limits; every other name is an opening for loudspeakers."""


def requirement_says(job: Job, name: str) -> Sentence:
    """Describe a limit with its value, in the words of the counter."""
    stem, _, what = name.partition(".")
    limits = job.limits
    match stem:
        case "alteration":
            return Sentence("alteration at most {step}", step=str(limits.alteration))
        case "per_opening":
            return Sentence("alteration at {place} at most {step}", place=what, step=str(limits.per_opening[what]))
        case "budget":
            return Sentence("budget of {money}", money=amount(limits.budget))
        case "screen_min_in":
            least = amount(limits.screen_min_in.value if limits.screen_min_in else None, "in")
            return Sentence("screen of at least {least}", least=least)
        case "at_rest_ma":
            most = amount(limits.at_rest_ma.value if limits.at_rest_ma else None, "mA")
            return Sentence("standby drain at most {most}", most=most)
        case "must":
            return Sentence("{feature} required", feature=what.replace("_", " "))
        case "keep":
            return Sentence("original stays at {place}", place=what)
        case "pin":
            return Sentence("{part} at {place}", place=what, part=str(job.pin[what]))
        case "without":
            return Sentence("without {kind}: {names}", kind=what, names=", ".join(getattr(limits.without, what)))
        case "deliver_within_days":
            return Sentence("delivery within {days}", days=amount(limits.deliver_within_days, "days"))
        case "security_routes":
            return Sentence("routes of theft covered: {words}", words=job.security_routes or ())
        case _ if what in WANTED_WORDS:
            return Sentence(WANTED_WORDS[what])
        case _:
            return Sentence("loudspeakers wanted at {place}", place=what)


def conflict_says(job: Job, conflict: list[str]) -> str:
    """Describe a smallest conflicting set of limits in a sentence."""
    listed = "; ".join(requirement_says(job, name) for name in conflict)
    if len(conflict) == 1:
        return f"nothing in the catalog meets this requirement, even without the others: {listed}"
    return f"these requirements conflict: {listed}"


OWNED = "customer's own"
"""Label of a part that the customer owns."""
ALWAYS = (
    "Disconnect the battery's negative pole first.",
    "Airbags and belt tensioners: only by their maker's procedure.",
    "A fuse before anything else; never near fuel lines or tanks.",
    "Orange cables of electric and hybrid cars: never.",
    "Hearing: 85 dBA for 8 hours at most (NIOSH), half as long for every 3 dB more.",
    "Where in doubt: a licensed or certified technician. Estimates are estimates.",
)
"""Cautions in every answer on a whole car."""


def miss_says(miss: Miss) -> str:
    """Describe a rule's refusals in a sentence, with the nearest miss."""
    parts = Sentence("{count} part", "{count} parts", count=amount(miss.count))
    flaw, rule = miss.rule.flaw, miss.rule.name
    if miss.margin is None or not miss.rule.unit:
        return Sentence("{parts}: {flaw} ({rule})", parts=parts, flaw=flaw, rule=rule)
    return Sentence(
        "{parts}: {flaw} ({rule}); nearest {nearest}, short by {short}",
        parts=parts,
        flaw=flaw,
        rule=rule,
        nearest=str(miss.nearest),
        short=amount(abs(miss.margin), miss.rule.unit),
    )


def supply_says(rule: Rule) -> str:
    """Explain why the vehicle's supply rules out everything, and which supply would work."""
    return Sentence(
        "every powered part: {flaw} ({rule}); what it takes: {fix}", flaw=rule.flaw, rule=rule.name, fix=rule.fix
    )


GAIN_WORDS = {
    "level_db": ("louder", "quieter"),
    "low_hz": ("higher at the low end", "lower"),
    "screen_in": ("more screen", "less screen"),
    "bass_mean_db": ("louder in the bass", "quieter in the bass"),
    "price": ("dearer", "cheaper"),
}
"""Words for a rise and a fall of each figure."""


def gain_says(gain: StepGain) -> str:
    """Describe one change between tiers in a sentence."""
    place = "" if gain.where in ("whole", "bass") else f" at {gain.where}"
    unit = "" if gain.unit == "money" else gain.unit
    if gain.before is None or gain.after is None:
        return f"{amount(gain.after, unit)}{place}, before {amount(gain.before, unit)}"
    change = gain.after - gain.before
    return f"{amount(abs(change), unit)} {GAIN_WORDS[gain.criterion][change < 0]}{place}"


def tradeoff_says(tradeoff: TradeOff) -> str:
    """Describe the loss that limits cause at an opening."""
    money = _change(tradeoff.price, Decimal("0.01"), "", "dearer", "cheaper") or "at the same price"
    return (
        f"given up at {tradeoff.opening_id}: {tradeoff.instead} would be {tradeoff_gains(tradeoff)}, {money}; "
        f"it needs {_step_says(tradeoff.needs.alteration)}{cut_says(tradeoff.needs.cut)}"
    )


def tradeoff_gains(tradeoff: TradeOff) -> str:
    """Describe the change of level and reach that a larger loudspeaker gives."""
    gains = [
        _change(tradeoff.gains_db, Decimal("0.5"), "dB", "louder", "quieter"),
        _change(tradeoff.gains_hz, Decimal(1), "Hz", "lower", "higher at the low end"),
    ]
    return " and ".join(filter(None, gains)) or "hardly different"


def _change(change: Decimal | None, step: Decimal, unit: str, more: str, less: str) -> str:
    rounded = round((change or Decimal(0)) / step) * step
    return f"{amount(abs(rounded), unit)} {more if rounded > 0 else less}" if rounded else ""


def hearing_says(hearing: Hearing) -> str:
    """Describe the loudness of a package and its safe listening time."""
    limits = [
        f"{amount(minutes, 'min')} {rule}"
        for minutes, rule in (
            (hearing.niosh_min, "a day (NIOSH)"),
            (hearing.osha_min, "a day (OSHA)"),
            (hearing.week_min, "a week (WHO, ITU)"),
        )
        if minutes is not None
    ]
    most = f"; no longer than {', '.join(limits)}" if limits else ""
    return f"hearing: {amount(hearing.level_db, 'dB')} at 1 m, all loudspeakers at their most{most}"


def covered_says(answer: Options) -> str:
    """Describe the coverage of an answer, and the score it may miss if the search was stopped early."""
    covered = f"{_in_words(answer.considered)} combinations"
    if answer.complete and not answer.packages:
        return "Whole catalog searched: no package meets every requirement."
    if answer.complete:
        return f"All {covered} searched: no better package exists."
    if answer.missed_score_at_most is None:
        return f"Ended after {answer.seconds} s, before all fitting parts were read: better packages may be missing."
    missed = f"a missing package has at most {answer.missed_score_at_most} points"
    return f"Ended after {answer.seconds} s: the best so far of {covered}; {missed}."


SCALES = {10**18: "quintillion", 10**15: "quadrillion", 10**12: "trillion", 10**9: "billion", 10**6: "million"}


def _in_words(count: int) -> str:
    """Format a count with at most three digits and its scale.

    >>> _in_words(439_220_344_418_856), _in_words(1_534_104_000), _in_words(74_000)
    ('439 trillion', '1.53 billion', '74,000')
    """
    for scale, name in SCALES.items():
        if count >= scale:
            return f"{count / scale:.3g} {name}"
    return f"{count:,}"


def packages_say(answer: Options) -> str:
    """Describe the verdict on a job in one line."""
    if not answer.packages:
        return f"{answer.job_id}: NO PACKAGE{'' if answer.complete else ' found so far'}"
    best = answer.packages[0]
    count = "one package" if len(answer.packages) == 1 else f"{len(answer.packages)} packages"
    total = f"{'from ' if best.price.from_ else ''}{total_says(best.price)}"
    return f"{answer.job_id}: {count}; the best {VERDICT_WORDS[best.verdict]}: {total}"


def looking_says(waiting: int, best: int | None) -> str:
    """Describe the progress of a search."""
    so_far = "no package so far" if best is None else f"best so far {round(best / 100)} points"
    return f"ranking: {waiting:,} groups left, {so_far}"


def claim_says(claim: ClaimBeside) -> str:
    """Describe a measured value next to a claimed one."""
    reading = claim.reading
    basis = f", {reading.basis}" if reading.basis not in (None, "measured") else ""
    note = f" ({reading.note})" if reading.note else ""
    claimed = f"claimed {figure_text(claim.claimed, claim.unit)}" if claim.claimed is not None else "nothing claimed"
    measured = f"measured {figure_text(claim.value, claim.unit)}{basis}"
    return f"{reading.subject} {claim.field}: {claimed}, {measured}{note}"


def figure_text(value: object, unit: str) -> str:
    """Format a figure with its unit; a word stays as it is."""
    return (
        amount(value, unit) if isinstance(value, Decimal | int | float) and not isinstance(value, bool) else str(value)
    )
