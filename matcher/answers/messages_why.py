"""Sentences about conflicts and their fixes, and about why a part is not in the best package."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from catalog_schema.answers import Check, StepGain
from catalog_schema.jobs import Job
from catalog_schema.whys import Brief, Difference, LimitChange, PartReason, Swap, WithoutLimit
from matcher.answers.messages import amount, cut_says, money, requirement_says, total_says
from matcher.answers.messages_beside import ROUTE_WORDS
from matcher.answers.sentences import listed

if TYPE_CHECKING:
    from matcher.search.what_if.loosened import RelaxedLimit

NOTHING_CONFLICTS = "no conflict: the best package meets every limit"


ALLOWED = {
    "bolt_on": "plates, brackets and boards added",
    "spare_piece": "a replaceable piece altered, the original kept",
    "hidden_cut": "hidden plastic or trim cut",
    "drilled": "new screw holes in the body",
    "metal_cut": "metal cut",
}
"""Alterations that a step of the ladder allows, in a customer's words."""


def allow_says(step: object, where: str, before: str) -> str:
    """Describe the newly allowed step of the ladder."""
    return f"{ALLOWED[str(step)]} {where} ({step}, was {before})"


def brief_says(package: Brief) -> str:
    """Describe a package in a clause: points, price, and alteration of the car."""
    doubt = ", something still to be measured" if package.verdict == "measure" else ""
    return f"{package.score} points at {total_says(package.price)}, {package.alteration}{doubt}"


def swap_says(swap: Swap) -> str:
    """Describe one change of parts in a sentence."""
    place = swap.opening_id or swap.slot
    if swap.before is None:
        change = f"{swap.after} as well"
    elif swap.after is None:
        change = f"no {swap.before}"
    else:
        change = f"{swap.after} instead of {swap.before}"
    return f"{change} at {place}{cut_says(swap.cut)}"


def checks_says(conflict: Sequence[str], without: list[WithoutLimit]) -> str:
    """Describe the verification of a conflict."""
    them = "them" if len(conflict) > 1 else "it"
    found = [f'without "{one.limit}" {_witness(one.package)}' for one in without]
    return "; ".join([f"checked by ranking again, all else lifted: nothing meets {them}", *found])


def _witness(package: Brief) -> str:
    if not any(line.part_id for line in package.lines):
        return "nothing need be bought"
    return f"there is a package at {total_says(package.price)}, {package.alteration}"


def change_of(job: Job, change: RelaxedLimit) -> LimitChange:
    """Describe the change of a limit, with its old and new value."""
    stem, _, what = change.limit.partition(".")
    before = _before(job, change.limit)
    after, says = _after(stem, what, change.value, before)
    return LimitChange(limit=change.limit, before=before, after=after, says=says)


def _before(job: Job, name: str) -> str:
    stem, _, what = name.partition(".")
    if stem == "per_opening" and job.limits.per_opening.get(what) is None:
        return str(job.limits.alteration)
    if stem == "security_routes" and what:
        return ROUTE_WORDS[what]
    if stem == "choose":
        return words(what)
    *_, value = requirement_says(job, name).facts.values()
    return listed(value)


def _after(stem: str, what: str, value: object, before: str) -> tuple[str | None, str]:
    match stem:
        case "budget":
            return money(value), f"a budget of {money(value)} instead of {before}"
        case "at_rest_ma":
            return amount(value, "mA"), f"{amount(value, 'mA')} at rest instead of {before}"  # type: ignore[arg-type]
        case "screen_min_in" if value is not None:
            return amount(value, "in"), f"a screen from {amount(value, 'in')} on instead of {before}"  # type: ignore[arg-type]
        case "screen_min_in":
            return None, f"a head unit of any screen, or none, instead of {before} at least"
        case "must":
            return None, f"do without {words(what)}"
        case "keep":
            return (str(value) if value else "free"), f"{KEPT[value]} at {what}"  # type: ignore[index]
        case "alteration":
            return str(value), allow_says(value, "anywhere", before)
        case "per_opening":
            return str(value), allow_says(value, f"at {what}", before)
        case "pin":
            return None, f"another part than {before} at {what}"
        case "without":
            return None, f"allow {what[:-1]} {value}" if value else f"allow the {what} {before}"
        case "deliver_within_days" if value is not None:
            return amount(value, "days"), f"delivery within {amount(value, 'days')} instead of {before}"  # type: ignore[arg-type]
        case "deliver_within_days":
            return None, "delivery at any time"
        case "security_routes":
            return None, f"do not cover {ROUTE_WORDS[what]}" if what else "leave security out"
        case _:
            return None, f"choose no {words(what)}"


KEPT = {
    "replaced": "a new part in place of the original",
    "left out": "the original disconnected",
    None: "room for a new part where the original is kept",
}
"""Texts for an original part that need not stay."""


def words(name: str) -> str:
    """Return a name of the schema in a person's words."""
    return name.replace("_", " ")


def relaxation_says(changes: list[LimitChange], package: Brief) -> str:
    """Describe a relaxation in a sentence."""
    return f"{', and '.join(change.says for change in changes)}: then the best has {brief_says(package)}"


def near_says(check: Check, whole: str) -> str:
    """Describe how close the best package is to a limit; `whole` names a limit on the whole."""
    if not whole:
        return f"{check.says} ({check.rule})"
    have, need, left = (
        money(number) if check.unit == "money" else amount(number, check.unit)
        for number in (check.have, check.need, check.margin)
    )
    return f"{whole}: {need} of {have} used, {left} left"


def nothing_says(conflicts: int) -> str:
    """State that a job has no package."""
    sets = "one set of them is" if conflicts == 1 else f"{conflicts} sets of them are"
    return f"no package meets every requirement: {sets} in conflict (all combinations searched)"


def lacking_says(difference: Difference) -> str:
    """Describe the points that a package loses by criterion, the most first."""
    order = sorted(difference.criteria.items(), key=lambda item: item[1])
    parts = [f"{CRITERIA_WORDS[name]} {points:+d}" for name, points in order]
    return ", ".join(parts) or "in no criterion by a whole point"


CRITERIA_WORDS = {
    "loudness": "loudness",
    "bass": "bass",
    "screen": "screen",
    "original_look": "original look",
    "price": "price",
    "known": "what is not known yet",
}


def gains_say(gains: list[StepGain]) -> str:
    """Describe the differences in sound, screen and price."""
    return ", ".join(gain.says for gain in gains)


NO_FIT = {
    "adapter": "brings no part of the catalog into this car",
    "cable": "is no cable for any amplifier here: another that does costs less, or it is too thin or too short",
    "accessory": "gives nothing asked for here, needs what no head unit has, or is a board where another does for less",
    "film": "is too dark for every pane of this car",
    "security": "covers no route of theft that this job names",
    "subwoofer": "goes into no box that goes into this car",
    "enclosure": "does not go into this car, or takes no driver of the catalog",
}
"""Why parts of a kind that fills no opening are left out if no wish requires them."""


def part_says(reason: PartReason) -> str:
    """Describe the first reason why a part is not in the best package."""
    name = f"{reason.part_id} {reason.label}".strip()
    match reason.reason:
        case "in":
            return f"{name} is in the best package"
        case "not_asked":
            return f"{name} is of a kind ({words(reason.family)}) that this job has no place for"
        case "no_fit":
            return f"{name} {NO_FIT.get(reason.family, 'fits nowhere in this job, whatever is allowed')}"
        case "no_feed":
            return f"{name} fits by itself, but nothing in the catalog makes a whole package with it"
        case "limits":
            sets = [" with ".join(f'"{limit}"' for limit in conflict.limits) for conflict in reason.limits]
            return f"{name} would make a package, but for what the customer allows: {'; '.join(sets)}"
    assert reason.difference is not None
    if reason.difference.points:
        return f"{name} loses by {-reason.difference.points} points: {lacking_says(reason.difference)}"
    return f"{name} loses a tie: as many points, but dearer, or later by its number"
