"""One job, ranked again and again with figures supposed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.columns import Column
from catalog_schema.jobs import Job
from catalog_schema.whys import Brief
from matcher.explain.briefs import brief
from matcher.explain.packages import Describer
from matcher.search.exact.packages import Found
from matcher.search.exact.patience import Patience
from matcher.search.fits.fit import part_family
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.gathering import gather_field
from matcher.search.options import bounds_of
from matcher.search.question import read_question
from matcher.search.what_if.in_time import best_in_time, in_time
from matcher.search.what_if.weighed import ALONE, Before, touched_by
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
    patience: Patience = field(default_factory=Patience)
    _subjects: Subjects = field(default_factory=dict)
    _kept: dict[tuple[str, ...], Sweeps] = field(default_factory=dict)
    _families: dict[str, str] = field(default_factory=dict)
    _touched: dict[str, set[str] | None] = field(default_factory=dict)
    _before: dict[Key, Before] = field(default_factory=dict)
    _found: dict[Key, Found | None] = field(default_factory=dict)
    _told: dict[Key, Brief | None] = field(default_factory=dict)

    def best(self, figures: Mapping[str, Value]) -> Found | None:
        """The best package with some figures supposed.

        Raises
        ------
        Interrupted
            where time is over.
        """
        key = tuple(sorted(figures.items()))
        if key not in self._found:
            in_time(self.patience)
            self._found[key] = self._best(figures) if figures else self.winner
        return self._found[key]

    def _best(self, figures: Mapping[str, Value]) -> Found | None:
        """The best package, of all or of those that hold the one part that is supposed to be otherwise."""
        part_id = self._one_part(figures)
        if part_id is not None:
            before = self._before_it(figures, part_id)
            if before.may_weigh(part_id, family := self._family(part_id)):
                with supposed(self.con, figures, self._subjects):
                    alone = before.sweeps.apart_from(*(self._touched_by(part_id) or ()))
                    return before.with_part(part_id, family, alone, self.patience)
        with supposed(self.con, figures, self._subjects):
            question = read_question(self.con, self.job, self.settings)
            return best_in_time(self._sweeps(figures), question, self.patience)

    def _one_part(self, figures: Mapping[str, Value]) -> str | None:
        """The one part that stands for itself among what is supposed; none where there is none, or are several."""
        subjects = {split_figure(name)[0].partition(":") for name in figures}
        parts = {where for kind, _, where in subjects if kind == "part" and self._family(where) in ALONE}
        return parts.pop() if len(parts) == 1 else None

    def _before_it(self, figures: Mapping[str, Value], part_id: str) -> Before:
        """What there is with all that is supposed but of one part."""
        others = {name: value for name, value in figures.items() if split_figure(name)[0] != f"part:{part_id}"}
        key = tuple(sorted(others.items()))
        if key not in self._before:
            winner = self.best(others)
            with supposed(self.con, others, self._subjects) if others else nullcontext():
                sweeps = self._sweeps(others)
                field = gather_field(sweeps, read_question(self.con, self.job, self.settings), Look(1))
            self._before[key] = Before(winner, field, sweeps)
        return self._before[key]

    def told(self, figures: Mapping[str, Value]) -> Brief | None:
        """What is told of that package."""
        key, found = tuple(sorted(figures.items())), self.best(figures)
        if key not in self._told:
            with supposed(self.con, figures, self._subjects):
                question = read_question(self.con, self.job, self.settings)
                sweeps = Sweeps(self.con, self.settings, self.sweeps.codes)
                describer, sure = Describer(sweeps, question), bounds_of(question, None, sure=True)
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
                touched = touched_by(family, read_question(self.con, self.job, self.settings))
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
