"""One job, ranked again and again with figures supposed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.jobs import Job
from catalog_schema.whys import Brief
from matcher.explain.briefs import brief
from matcher.explain.packages import Describer
from matcher.search.exact.packages import Found
from matcher.search.exact.patience import Patience
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import bounds_of
from matcher.search.question import read_question
from matcher.search.what_if.in_time import best_in_time, in_time
from matcher.settings import Settings
from matcher.store.connection import Connection
from matcher.store.supposed import split_figure, supposed

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
    stands: Callable[[str], set[str] | None] = lambda part_id: None
    """The openings at which alone a part may stand, and its family; none where that is not known."""
    patience: Patience = field(default_factory=Patience)
    _kept: dict[tuple[str, ...], Sweeps] = field(default_factory=dict)
    _found: dict[Key, Found | None] = field(default_factory=dict)
    _told: dict[Key, Brief | None] = field(default_factory=dict)

    def best(self, figures: Mapping[str, Value]) -> Found | None:
        """The best package with some figures supposed.

        Raises
        ------
        Interrupted
            where time is over.
        """
        in_time(self.patience)
        key = tuple(sorted(figures.items()))
        if key not in self._found:
            with supposed(self.con, figures):
                sweeps = self._sweeps(figures)
                question = read_question(self.con, self.job, self.settings)
                self._found[key] = best_in_time(sweeps, question, self.patience)
        return self._found[key]

    def told(self, figures: Mapping[str, Value]) -> Brief | None:
        """What is told of that package."""
        key, found = tuple(sorted(figures.items())), self.best(figures)
        if key not in self._told:
            with supposed(self.con, figures):
                question = read_question(self.con, self.job, self.settings)
                describer, sure = Describer(self._sweeps(figures), question), bounds_of(question, None, sure=True)
                self._told[key] = None if found is None else brief(describer, found, sure)
        return self._told[key]

    def _sweeps(self, figures: Mapping[str, Value]) -> Sweeps:
        """What was read, but for what these figures touch."""
        openings: set[str] = set()
        for subject in {split_figure(name)[0] for name in figures}:
            touched = self._touched(subject)
            if touched is None:
                return Sweeps(self.con, self.settings, self.sweeps.codes)
            openings |= touched
        key = tuple(sorted(openings))
        if key not in self._kept:
            self._kept[key] = self.sweeps.apart_from(*key)
        return self._kept[key].apart_from()

    def _touched(self, subject: str) -> set[str] | None:
        """The openings, the family and the part that hang on a subject; none where it reaches further."""
        kind, _, where = subject.partition(":")
        if kind == "opening":
            return {where.rpartition("/")[2]}
        touched = self.stands(where) if kind == "part" else None
        return None if touched is None else touched | {where}
