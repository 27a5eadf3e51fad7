"""Why a job has no package and what would help, or which limits nearly bind the best one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from catalog_schema.answers import Check, Package
from catalog_schema.jobs import Job
from catalog_schema.whys import Brief, CheckedConflict, Near, Relaxation, Why, WithoutLimit
from matcher.answers.briefs import brief, brief_of
from matcher.answers.messages import conflict_says, requirement_says
from matcher.answers.messages_why import (
    NOTHING_CONFLICTS,
    change_of,
    checks_says,
    near_says,
    nothing_says,
    relaxation_says,
)
from matcher.answers.packages import Describer
from matcher.answers.slots import slot_counts
from matcher.rules.charging import AT_IDLE, ON_MUSIC
from matcher.rules.package import AT_REST, BUDGET
from matcher.search.catalog.catalog import Catalog
from matcher.search.options import rank, sum_limits
from matcher.search.packages import Found
from matcher.search.question import question_of, wished
from matcher.search.what_if.loosened import Loosened, relaxations
from matcher.search.what_if.relaxed import WhatIf, lifted, limits_of, smallest_conflicts, stated


@dataclass(frozen=True, slots=True)
class WhyQuestion:
    """A job for what-if questions: its named limits, its rankings, and a describer of their packages."""

    possible: WhatIf
    describer: Describer
    names: list[str]

    @property
    def job(self) -> Job:
        """The job in question."""
        return self.possible.job

    def brief(self, found: Found, job: Job) -> Brief:
        """Summarize a package of a changed job."""
        question = question_of(self.possible.catalog, job)
        return brief(self.describer, found, sum_limits(question, None, sure=True))


def why_question(catalog: Catalog, job: Job) -> WhyQuestion:
    """Prepare a job with each of its limits explicit, so that they can be changed one by one."""
    job = stated(job, catalog)
    question = question_of(catalog, job)
    return WhyQuestion(WhatIf(catalog, job), Describer(catalog, question), limits_of(catalog, job))


def answer_why(catalog: Catalog, job: Job, version: int) -> Why:
    """Explain why a job has no package and what would help; if it has one, report its nearest limits."""
    ranked = rank(catalog, replace(job, tiers=()), 1)
    held = wished(catalog, job)
    slots = slot_counts(held, ranked.field)
    if ranked.found:
        best = Describer(held, ranked.question).package(ranked.found[0], 1)
        return Why(
            job_id=job.job_id,
            catalog_version=version,
            says=NOTHING_CONFLICTS,
            best=brief_of(best),
            near=nearest(best),
            slots=slots,
        )
    why = why_question(catalog, job)
    conflicts = smallest_conflicts(why.names, why.possible)
    return Why(
        job_id=job.job_id,
        catalog_version=version,
        says=nothing_says(len(conflicts)),
        best=None,
        conflicts=[checked(why, conflict) for conflict in conflicts],
        relaxations=[relaxation(why, one) for one in relaxations(why.possible, why.names, conflicts)],
        slots=slots,
    )


def checked(why: WhyQuestion, conflict: frozenset[str]) -> CheckedConflict:
    """Return a conflict with the result of also lifting each of its limits."""
    everything = frozenset(why.names)
    members = [name for name in why.names if name in conflict]
    without = []
    for name in members:
        held = conflict - {name}
        found = why.possible.witness(held, everything)
        assert found is not None, "a smallest conflict that is not smallest"
        job = lifted(why.possible.catalog, why.job, everything - held)
        without.append(WithoutLimit(limit=requirement_says(why.job, name), package=why.brief(found, job)))
    limits: list[str] = [requirement_says(why.job, name) for name in members]
    says = conflict_says(why.job, members)
    return CheckedConflict(limits=limits, says=says, without=without, checks=checks_says(limits, without))


def relaxation(why: WhyQuestion, one: Loosened) -> Relaxation:
    """Return a relaxation as an answer."""
    changes = [change_of(why.job, change) for change in one.changes]
    package = why.brief(one.found, one.job)
    return Relaxation(changes=changes, package=package, says=relaxation_says(changes, package))


WHOLE_WORDS = {
    BUDGET.name: "money",
    AT_REST.name: "standby drain",
    ON_MUSIC.name: "charging, on music",
    AT_IDLE.name: "charging at idle",
}
"""Limits on the whole, which a package uses up."""
TIGHTEST = 3
"""Number of tightest fits shown."""


def nearest(package: Package) -> list[Near]:
    """Return the remaining room under each limit on the whole, smallest first, then the tightest fits."""
    used = [check for check in package.checks if check.rule in WHOLE_WORDS and check.margin is not None and check.have]
    lengths = [check for check in package.checks if check.unit == "mm" and check.margin is not None]
    used.sort(key=lambda check: (check.margin or 0) / (check.have or 1))
    lengths.sort(key=lambda check: (check.margin or 0) - check.tol)
    return [_near(check) for check in (*used, *lengths[:TIGHTEST])]


def _near(check: Check) -> Near:
    assert check.have is not None and check.need is not None and check.margin is not None
    says = near_says(check, WHOLE_WORDS.get(check.rule, ""))
    return Near(rule=check.rule, have=check.have, need=check.need, spare=check.margin, unit=check.unit, says=says)
