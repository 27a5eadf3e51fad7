"""The figures to measure first: those that could change the winner, and by how much."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from catalog_schema.answers import Check
from catalog_schema.jobs import Job
from catalog_schema.whys import Measure, MeasureFirst, Together
from matcher.answers.assuming import AssumedRankings
from matcher.answers.briefs import brief
from matcher.answers.fitted import fitted_of
from matcher.answers.messages_measure import entry_says, first_says, looked_says, measure_lines
from matcher.answers.packages import Describer
from matcher.answers.sides import Sides, between, is_no_better, is_read, sides_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget, SearchEnded
from matcher.search.options import JobRanking, rank, sum_limits
from matcher.search.packages import Found, PackageCandidate
from matcher.search.question import wished
from matcher.search.what_if.assumed import Value
from matcher.search.what_if.contenders import Contenders
from matcher.search.what_if.forced import holds
from matcher.search.what_if.unmeasured import unmeasured
from matcher.store.readings.subjects import split_figure

ROOMY_MM = Decimal(5000)
"""More room than any part needs."""
TOLD_EACH = 5
"""So many packages are looked at between two words on the progress."""


def answer_measure(
    catalog: Catalog,
    job: Job,
    version: int,
    looks: int | None = None,
    budget: SearchBudget | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> MeasureFirst:
    """Return the open figures that could change a job's winner, the highest stake first.

    Parameters
    ----------
    looks
        Number of possible winners to examine; None for all of them.
    budget
        Time limit; unlimited by default.
    tell
        Called with the progress, in words.
    """
    budget, catalog = budget or SearchBudget(), wished(catalog, job)
    ranked = rank(catalog, replace(job, tiers=()), 1, budget)
    describer, sure = Describer(catalog, ranked.question), sum_limits(ranked.question, None, sure=True)
    answer = MeasureFirst(
        job_id=job.job_id,
        catalog_version=version,
        best=brief(describer, ranked.found[0], sure) if ranked.found else None,
        sure=None if ranked.sure is None else brief(describer, ranked.sure, sure),
        figures=[],
        complete=ranked.complete,
        not_weighed=[],
    )
    if ranked.found and ranked.complete:
        answer = _weighed(answer, ranked, describer, looks, budget, tell)
    return replace(answer, says=first_says(answer, is_ranked=ranked.complete))


def _weighed(
    answer: MeasureFirst,
    ranked: JobRanking,
    describer: Describer,
    looks: int | None,
    budget: SearchBudget,
    tell: Callable[[str], None],
) -> MeasureFirst:
    """Build the answer with every figure that could change the current winner."""
    best, catalog, job = ranked.found[0], describer.catalog, ranked.question.job
    openings = unmeasured(catalog, ranked.question)
    hopeful = Contenders(catalog, ranked.question, best, budget, unmeasured=openings)
    asking = AssumedRankings(catalog, job, best, hopeful.places_of, budget)
    weighing, together, in_time = Weighing(asking, describer, best), None, True
    try:
        weighing.look_at(best)
        for opening_id, fields in openings.items():
            weighing.look_into(f"opening:{job.vehicle_id}/{opening_id}", fields)
        for count, found in enumerate(hopeful.each(looks), 1):
            if count % TOLD_EACH == 1:
                tell(looked_says(count, len(weighing.found)))
            weighing.look_at(found)
        together = weighing.together(hopeful.together()) if hopeful.complete else None
    except SearchEnded:
        in_time = False
    return replace(
        answer,
        figures=weighing.figures,
        complete=hopeful.complete and in_time,
        most_missed=None if hopeful.missed is None else round(hopeful.missed / 100),
        not_weighed=sorted(weighing.not_weighed - weighing.found.keys()),
        unmeasured=list(openings),
        together=together,
    )


@dataclass
class Weighing:
    """Examines one package after another for figures whose value would change the winner."""

    asking: AssumedRankings
    describer: Describer
    best: Found
    found: dict[str, Measure] = field(default_factory=dict)
    not_weighed: set[str] = field(default_factory=set)
    _weighed: set[object] = field(default_factory=set)
    _shared: list[tuple[Mapping[str, Sides], int]] = field(default_factory=list)
    """Assumed figures, and the points of the best package under them."""
    _checks: dict[tuple[tuple[str, ...], int], list[Check]] = field(default_factory=dict)

    @property
    def figures(self) -> list[Measure]:
        """Findings so far, the highest stake first."""
        return sorted(self.found.values(), key=lambda one: (-one.points, one.figure))

    def look_into(self, opening: str, fields: Sequence[str]) -> None:
        """Weigh the unknown figures that every part in an opening needs, by the best package if all have room."""
        names = [f"{opening}.{name}" for name in fields]
        roomy = self.asking.best(dict.fromkeys(names, ROOMY_MM))
        if roomy is not None and roomy.points > self.best.points:
            checks = self.open_checks(roomy)
            every = sides_of(self.asking, checks)
            self._weigh_each({name: every[name] for name in names if name in every}, names, checks)
            self.not_weighed |= set(names) - every.keys()

    def look_at(self, found: Found) -> None:
        """Weigh every open figure of a package that was not yet weighed with the same values of the others.

        Figures of one subject, a part or an opening, can help a package only if it is not behind the best one under the
        others: these help other packages as much.
        """
        checks = self.open_checks(found)
        every = sides_of(self.asking, [*checks, *self.open_checks(self.best)])
        for group in groups_of(found, checks, self.describer.question.job.vehicle_id):
            sides = {name: every[name] for name in sorted(group & every.keys())}
            if self._is_behind(found, {name: side for name, side in sides.items() if not name.startswith("part:")}):
                continue
            self.not_weighed |= {name for name in group - sides.keys() if is_read(name)}
            for subject in dict.fromkeys(split_figure(name)[0] for name in sides):
                own = [name for name in sides if split_figure(name)[0] == subject and name not in self.found]
                others = {name: side for name, side in sides.items() if split_figure(name)[0] != subject}
                if own and not (subject.startswith("part:") and self._is_behind(found, others)):
                    self._weigh_each(sides, own, checks)

    def _is_behind(self, found: Found, shared: Mapping[str, Sides]) -> bool:
        """Whether a package is behind the best one under some figures, even if all else about a part of it is good."""
        if not shared or found is self.best:
            return found.points < self.best.points
        if any(found.points < points and is_no_better(worse, shared) for worse, points in self._shared):
            return True
        before = self.asking.best({name: side.best for name, side in shared.items()})
        if before is not None:
            self._shared.append((shared, before.points))
        return before is not None and found.points < before.points

    def _weigh_each(self, sides: Mapping[str, Sides], names: Sequence[str], checks: list[Check]) -> None:
        for name, side in ((name, sides[name]) for name in names if name in sides):
            if side.good == side.bad:
                continue
            for company in self._companies(name, sides):
                key = (name, side, frozenset(company.items()))
                if name not in self.found and key not in self._weighed:
                    self._weighed.add(key)
                    measure = self.weigh(name, side, company, checks)
                    if measure is not None:
                        self.found[name] = measure

    def open_checks(self, found: Found) -> list[Check]:
        """Return the checks of a package that are still open."""
        key = (found.name, found.rank)  # another feed leaves other figures open
        if key not in self._checks:
            self._checks[key] = [check for check in self.describer.checks(found) if check.verdict == "measure"]
        return self._checks[key]

    def _companies(self, name: str, sides: Mapping[str, Sides]) -> Iterator[dict[str, Value]]:
        """Yield the figures assumed to turn out well together with one figure: none, then the part's other open ones.

        A single figure of a part with several open ones decides nothing, unless the winner contains the part.
        """
        others = {each: side.best for each, side in sides.items() if each != name}
        if not others or not name.startswith("part:") or name in names_of(self.open_checks(self.best)):
            yield {}
        if others:
            yield others

    def weigh(self, name: str, side: Sides, company: dict[str, Value], checks: list[Check]) -> Measure | None:
        """Return a figure with the winner on either side of its deciding value; None if it never changes the winner."""
        asking = self.asking
        if side.is_far:
            side = between(asking, name, side, company)
        inside = asking.best({**company, name: side.good})
        if inside is not None and inside.name != self.best.name and not side.is_far:
            own = self.open_checks(inside)  # another package wins once the figure is known: use its own deciding value
            if (other := sides_of(asking, own).get(name)) is not None and other != side and not other.is_far:
                side, checks = other, own
                inside = asking.best({**company, name: side.good})
        subject, _, part_id = split_figure(name)[0].partition(":")
        if inside is not None and company and subject == "part" and not (side.is_far or holds(inside, part_id)):
            return None  # no winner contains the part, even if everything turns out well
        before = asking.best(company) if company else self.best
        if _name(inside) == _name(before) and (before is None or name not in names_of(self.open_checks(before))):
            return None
        outside = asking.best({**company, name: side.bad})
        if inside is None or {_name(inside), _name(outside)} == {_name(before)}:
            return None
        least = min((one.points for one in (before, outside) if one is not None), default=0)
        return self._measure_of(name, side, company, checks, round(least / 100))

    def _measure_of(
        self, name: str, side: Sides, company: dict[str, Value], checks: list[Check], least: int
    ) -> Measure:
        check = next(one for one in checks if name in (*one.missing, *one.loose))
        inside, outside = (self.asking.brief_of({**company, name: end}) for end in (side.good, side.bad))
        assert inside is not None
        measure = Measure(
            figure=name,
            rule=check.rule,
            is_missing=name in check.missing,
            unit=self.asking.column(name).unit,
            fits_from=side.decides if side.is_least else None,
            fits_up_to=None if side.is_least else side.decides,
            within=side.within,
            points=inside.score - least,
            inside=inside,
            outside=outside,
            also=sorted(company),
            enter=entry_says(*split_figure(name)),
        )
        return replace(measure, says="; ".join(measure_lines(measure)))

    def together(self, found: Found | None) -> Together | None:
        """Return the gain from measuring all open figures of a package, if it exceeds that of any single one."""
        if found is None:
            return None
        sides = sides_of(self.asking, self.open_checks(found))
        package = self.asking.brief_of(good := {name: side.best for name, side in sides.items()})
        most = max((one.inside.score for one in self.figures), default=round(self.best.points / 100))
        return None if package is None or package.score <= most else Together(figures=sorted(good), package=package)


def _name(found: Found | None) -> tuple[str, ...] | None:
    return None if found is None else found.name


def names_of(checks: Sequence[Check]) -> set[str]:
    """Return the open figures of some checks."""
    return {name for check in checks for name in (*check.missing, *check.loose)}


def groups_of(found: Found, checks: Sequence[Check], vehicle_id: str) -> list[set[str]]:
    """Group the open figures of a package by the part that depends on all of them."""
    groups = []
    for one in fitted_of(found):
        subjects = _subjects(one, vehicle_id)
        some = [check for check in checks if any(_subject(name) in subjects for name in names_of([check]))]
        if some and (names := names_of(some)) not in groups:
            groups.append(names)
    return groups


POWERED = ("head_unit", "amplifier", "bass_amplifier")
"""Slots whose rules read figures of the vehicle itself; those of film read its panes."""
GLASS = "glass"


def _subject(name: str) -> str:
    """Return the subject of a figure; the panes of a vehicle are a subject of their own."""
    subject, name = split_figure(name)
    return GLASS if name.startswith("panes.") else subject


def _subjects(one: PackageCandidate, vehicle_id: str) -> set[str]:
    """Return the subjects that a part's fit depends on: the part, its accessories, its place, and the vehicle."""
    parts = [one.candidate, *one.candidate.along] if one.bass is None else [one.bass.driver, one.bass.box]
    names = {name for each in parts for name in (each.part_id, each.adapter_id) if name is not None}
    opening = one.candidate.opening_id
    return {
        *(f"part:{name}" for name in names),
        *([] if opening is None else [f"opening:{vehicle_id}/{opening}"]),
        *([f"vehicle:{vehicle_id}"] if one.candidate.slot in POWERED else []),
        *([GLASS] if one.candidate.slot == "film" else []),
    }
