"""Why a part is not in a job's best package: the first applicable reason."""

from __future__ import annotations

from dataclasses import replace

from catalog_schema.answers import Conflict, Fit
from catalog_schema.jobs import LADDER, Job
from catalog_schema.places import OPENING_FAMILIES
from catalog_schema.whys import PartReason, Why
from matcher.answers.briefs import difference
from matcher.answers.messages import conflict_says, fit_with_words, requirement_says
from matcher.answers.messages_why import part_says
from matcher.answers.why import WhyQuestion, why_question
from matcher.search.candidates.boards import SLOT as BOARD
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.fit import fit_part, part_family
from matcher.search.packages import Found
from matcher.search.question import JobQuestion, allowed_step, question_of
from matcher.search.what_if.forced import OnePart, holds
from matcher.search.what_if.relaxed import WhatIf, lifted, smallest_conflicts


def answer_why_part(catalog: Catalog, job: Job, part_id: str, version: int) -> Why:
    """Return the first reason why a part is not in the best package of a job.

    Raises
    ------
    NotKnown
        if the catalog holds no such part.
    """
    family = part_family(catalog.con, part_id)
    why = why_question(catalog, job)
    forced = WhatIf(catalog, why.job, OnePart(catalog, part_id, family))
    best = why.possible.best(why.job)
    reason = _reason(why, forced, best)
    reason = replace(reason, says=part_says(reason))
    package = None if best is None else why.brief(best, why.job)
    return Why(job_id=job.job_id, catalog_version=version, says=reason.says, best=package, part=reason)


def _reason(why: WhyQuestion, forced: WhatIf, best: Found | None) -> PartReason:
    assert forced.part is not None
    part, catalog = forced.part, why.possible.catalog
    question = question_of(catalog, why.job)
    reason = PartReason(
        part_id=part.part_id, family=part.family, label=_label(why, part.part_id), reason="in", fits=fits(why, part)
    )
    if best is not None and holds(best, part.part_id):
        return replace(reason, package=why.brief(best, why.job))
    is_wanted = part.family in families_of(question) or (is_board(catalog, part) and question.amp_spots)
    if not (is_wanted or part.makes_level(forced.field(why.job))):
        return replace(reason, reason="not_asked")
    found = forced.best(why.job)
    if found is not None and best is not None:
        package = why.brief(found, why.job)
        more = difference(why.brief(best, why.job), package)
        return replace(reason, reason="loses", package=package, difference=more)
    return _kept_out(why, forced, reason)


def _kept_out(why: WhyQuestion, forced: WhatIf, reason: PartReason) -> PartReason:
    """Return the limits that exclude a part, or state that no relaxation includes it."""
    names = [name for name in why.names if name.partition(".")[0] not in ("choose", "security_routes")]
    conflicts = smallest_conflicts(names, forced)
    if frozenset() not in conflicts:
        return replace(reason, reason="limits", limits=[_conflict(why, conflict) for conflict in conflicts])
    loose = lifted(why.possible.catalog, why.job, frozenset(names))
    assert forced.part is not None
    goes_in = any(True for _ in forced.part.ways(forced.field(loose)))
    return replace(reason, reason="no_feed" if goes_in else "no_fit")


def _conflict(why: WhyQuestion, conflict: frozenset[str]) -> Conflict:
    members = [name for name in why.names if name in conflict]
    return Conflict(limits=[requirement_says(why.job, name) for name in members], says=conflict_says(why.job, members))


def is_board(catalog: Catalog, part: OnePart) -> bool:
    """Whether a part is a board, which accompanies an amplifier."""
    row = catalog.con.execute("SELECT kind FROM accessory WHERE part_id = ?", [part.part_id]).fetchone()
    return row == (BOARD,)


def families_of(question: JobQuestion) -> set[str]:
    """Return the families of parts that a job's packages may contain."""
    families = {"amplifier", "cable"}
    if question.dash_id is not None:
        families |= {"head_unit", "adapter"} | ({"accessory"} if question.job.limits.must else set())
    if question.speakers:
        families |= {"speaker", "adapter"}
    if question.bass:
        families |= {"subwoofer", "enclosure"}
    return families | ({"film"} if question.asks_film else set()) | ({"security"} if question.asks_security else set())


def fits(why: WhyQuestion, part: OnePart) -> list[Fit]:
    """Return the fits of a part at each opening of the job for its kind, at the allowed step."""
    catalog, vehicle = why.possible.catalog, why.job.vehicle_id
    question = why.describer.question
    openings = {
        "dash": [question.dash_id] if question.dash_id is not None else [],
        "speaker": [place.opening_id for place in question.chosen],
        "cargo": [place.opening_id for place in question.bass],
        "amp_spot": list(question.amp_spots),
    }
    return [
        fit_with_words(fit_part(catalog, part.part_id, vehicle, place, None, LADDER[allowed_step(why.job, place)]))
        for kind, places in openings.items()
        if part.family in OPENING_FAMILIES[kind]
        for place in places
    ]


def _label(why: WhyQuestion, part_id: str) -> str:
    row = why.possible.catalog.con.execute(
        "SELECT maker || ' ' || model FROM part WHERE part_id = ?", [part_id]
    ).fetchone()
    return str(row[0]) if row else ""
