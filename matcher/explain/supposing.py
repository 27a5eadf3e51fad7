"""One job, ranked again and again with figures supposed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.columns import Column
from catalog_schema.jobs import Job
from catalog_schema.whys import Brief
from matcher.explain.briefs import brief
from matcher.explain.packages import Describer
from matcher.search.exact.budget import SearchBudget
from matcher.search.fits.fit import part_family
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import JobQuestion, question_of
from matcher.search.ranking import best_of
from matcher.settings import Settings
from matcher.store.connection import Connection
from matcher.store.subjects import Subject
from matcher.store.supposed import Subjects, column_of, split_figure, subject_of, supposed

Value = Decimal | str | bool
Key = tuple[tuple[str, object], ...]


@dataclass
class Asking:
    """A job with what was read of it as it is; what nothing supposed touches is not read again."""

    con: Connection
    job: Job
    settings: Settings
    sweeps: Sweeps
    """What was read so far: none of it is about a figure that is supposed."""
    winner: Found
    """The best package of now."""
    stands: Callable[[str], set[str] | None] = lambda part_id: None
    """The openings at which alone a loudspeaker may stand, and its family; none where that is not known."""
    budget: SearchBudget = field(default_factory=SearchBudget)
    _subjects: Subjects = field(default_factory=dict)
    _kept: dict[tuple[str, ...], Sweeps] = field(default_factory=dict)
    _families: dict[str, str] = field(default_factory=dict)
    _touched: dict[str, set[str] | None] = field(default_factory=dict)
    _found: dict[Key, Found | None] = field(default_factory=dict)
    _told: dict[Key, Brief | None] = field(default_factory=dict)

    def best(self, figures: Mapping[str, Value]) -> Found | None:
        """The best package with some figures supposed.

        Raises
        ------
        SearchEnded
            where time is over.
        """
        key = tuple(sorted(figures.items()))
        if key not in self._found:
            self.budget.check()
            self._found[key] = self._best(figures) if figures else self.winner
        return self._found[key]

    def _best(self, figures: Mapping[str, Value]) -> Found | None:
        with supposed(self.con, figures, self._subjects):
            sweeps = self._sweeps(figures)
            question = question_of(sweeps, self.job)
            field = gather_field(sweeps, question, Look(1))
            found = best_of(field, sum_limits(question, self.job.limits.budget), self.budget)
        self.budget.check()
        return found

    def told(self, figures: Mapping[str, Value]) -> Brief | None:
        """What is told of that package."""
        key, found = tuple(sorted(figures.items())), self.best(figures)
        if key not in self._told:
            with supposed(self.con, figures, self._subjects):
                sweeps = Sweeps(self.con, self.settings, self.sweeps.codes)
                question = question_of(sweeps, self.job)
                describer, sure = Describer(sweeps, question), sum_limits(question, None, sure=True)
                self._told[key] = None if found is None else brief(describer, found, sure)
        return self._told[key]

    def _sweeps(self, figures: Mapping[str, Value]) -> Sweeps:
        """What was read, but for what these figures touch."""
        names: set[str] = set()
        for subject in {split_figure(name)[0] for name in figures}:
            kind, _, where = subject.partition(":")
            touched = {where.rpartition("/")[2]} if kind == "opening" else None
            if kind == "part":
                touched = self._touched_by(where)
            if touched is None:
                return Sweeps(self.con, self.settings, self.sweeps.codes)
            names |= touched
        key = tuple(sorted(names))
        if key not in self._kept:
            self._kept[key] = self.sweeps.apart_from(*key)
        return self._kept[key].apart_from()

    def _touched_by(self, part_id: str) -> set[str] | None:
        """What hangs on a part, whatever is supposed: families, openings, and the part; none: it reaches further."""
        if part_id not in self._touched:
            family = self._family(part_id)
            touched = self.stands(part_id) if family == "speaker" else None
            if touched is None:
                touched = _touched_by(family, question_of(self.sweeps, self.job))
            self._touched[part_id] = None if touched is None else touched | {part_id}
        return self._touched[part_id]

    def subject(self, name: str) -> Subject:
        """What a figure is of."""
        return subject_of(self.con, name, self._subjects)

    def column(self, name: str) -> Column:
        """The column in which a figure stands."""
        return column_of(self.con, name, self._subjects)

    def _family(self, part_id: str) -> str:
        if part_id not in self._families:
            self._families[part_id] = part_family(self.con, part_id)
        return self._families[part_id]


def _touched_by(family: str, question: JobQuestion) -> set[str] | None:
    """The families and openings whose candidates hang on a part of a family; None if it reaches further."""
    places = {place.opening_id for place in question.speakers}
    dash = set() if question.dash_id is None else {question.dash_id}
    return {
        "speaker": {"speaker", *places},
        "head_unit": {"head_unit", *dash},
        "amplifier": {"amplifier", "level controls", *question.amp_spots},
        "subwoofer": {"subwoofer", "bass"},
        "enclosure": {"enclosure", "bass"},
        "adapter": {"adapter", *dash, *places},
    }.get(family)
