"""Repeated rankings of one job with assumed figures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.columns import TableColumn
from catalog_schema.jobs import Job
from catalog_schema.kinds import CountKind
from catalog_schema.whys import Brief
from matcher.answers.briefs import brief
from matcher.answers.packages import Describer
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import question_of
from matcher.search.ranking import best_of
from matcher.search.what_if.assumed import Value, supposing
from matcher.search.what_if.forced import OnePart, best_mounted, holds
from matcher.store.readings.subjects import ReadingSubject, find_subject, split_figure

Key = tuple[tuple[str, object], ...]
MOUNTED = frozenset({"head_unit", "speaker", "adapter"})
"""Families at an opening of the dash or of loudspeakers."""


def _part_of(figure: str) -> str:
    """The part whose figure it is."""
    return split_figure(figure)[0].partition(":")[2]


@dataclass
class AssumedRankings:
    """A job with its rankings under assumed figures; results that an assumption does not affect are reused."""

    catalog: Catalog
    job: Job
    winner: Found
    """The current best package."""
    places_of: Callable[[str], set[str] | None] = lambda part_id: None
    """The only openings that can take a loudspeaker or an adapter; None if unknown."""
    budget: SearchBudget = field(default_factory=SearchBudget)
    _subjects: dict[str, ReadingSubject] = field(default_factory=dict)
    _stored: dict[tuple[str, str], tuple[Decimal | None, Decimal | None]] = field(default_factory=dict)
    _at_places: dict[Key, Catalog] = field(default_factory=dict)
    _found: dict[Key, Found | None] = field(default_factory=dict)
    _briefs: dict[Key, Brief | None] = field(default_factory=dict)

    def best(self, figures: Mapping[str, Value]) -> Found | None:
        """Return the best package under assumed figures.

        Raises
        ------
        SearchEnded
            if the time is up.
        """
        key = tuple(sorted(figures.items()))
        if key not in self._found:
            self.budget.check()
            self._found[key] = self._best(figures) if figures else self.winner
        return self._found[key]

    def _best(self, figures: Mapping[str, Value]) -> Found | None:
        parts, places = self._apart(figures)
        before = self.best(places) if parts else None
        catalog = self._supposing(figures)
        question = question_of(catalog, self.job)
        limits = sum_limits(question, self.job.limits.budget)
        if before is None or not self._are_beside(before, parts):
            found = best_of(gather_field(catalog, question, CandidatePass(1)), limits, self.budget)
        else:  # another package wins only with one of these parts
            by_name = {_part_of(figure): figure for figure in parts}
            some = [OnePart(catalog, name, self._family(name), self._spared([one])) for name, one in by_name.items()]
            whole = gather_field(self._at(places) if places else self.catalog, question, CandidatePass(1 + len(some)))
            found = best_mounted(whole, some, limits, self.budget, before.points)
            found = before if found is None else min(before, found, key=lambda one: one.order)
        self.budget.check()
        return found

    def _are_beside(self, found: Found, parts: Mapping[str, Value]) -> bool:
        """Whether parts at openings have assumed figures, and a package contains none of them."""
        names = set(map(_part_of, parts))
        return MOUNTED.issuperset(map(self._family, names)) and not any(holds(found, name) for name in names)

    def brief_of(self, figures: Mapping[str, Value]) -> Brief | None:
        """Return a summary of that package."""
        key, found = tuple(sorted(figures.items())), self.best(figures)
        if key not in self._briefs:
            catalog = self._supposing(figures)
            question = question_of(catalog, self.job)
            describer, sure = Describer(catalog, question), sum_limits(question, None, sure=True)
            self._briefs[key] = None if found is None else brief(describer, found, sure)
        return self._briefs[key]

    def _supposing(self, figures: Mapping[str, Value]) -> Catalog:
        """Return the catalog with assumed figures; those of places come first, shared by all assumptions on parts."""
        parts, places = self._apart(figures)
        return supposing(self._at(places) if places else self.catalog, parts, self._family, self._spared(parts))

    def _apart(self, figures: Mapping[str, Value]) -> tuple[dict[str, Value], dict[str, Value]]:
        """Figures of parts, and of places and the vehicle, in their stored form."""
        plain = {name: self._plain(name, value) for name, value in figures.items()}
        parts = {name: value for name, value in plain.items() if name.startswith("part:")}
        return parts, {name: value for name, value in plain.items() if name not in parts}

    def _at(self, places: Mapping[str, Value]) -> Catalog:
        """Return the catalog with assumed figures of places and the vehicle."""
        key = tuple(sorted(places.items()))
        if key not in self._at_places:
            catalog = self._at_places[key] = supposing(self.catalog, places, self._family)
            gather_field(catalog, question_of(catalog, self.job), CandidatePass(1))
        return self._at_places[key]

    def _spared(self, parts: Iterable[str]) -> set[str]:
        """Return the openings that can take none of the loudspeakers and adapters with assumed figures."""
        places = [self.places_of(part_id) for part_id in set(map(_part_of, parts))]
        if not places or None in places:
            return set()
        question = question_of(self.catalog, self.job)
        every = {str(question.dash_id), *(place.opening_id for place in question.speakers)}
        return every.difference(*(some for some in places if some))

    def stored(self, subject: str, name: str) -> tuple[Decimal | None, Decimal | None]:
        """Return the current value and tolerance of a length (its own or by basis); None for other figures."""
        if (subject, name) not in self._stored:
            self._stored[subject, name] = self._read(subject, name)
        return self._stored[subject, name]

    def _read(self, subject: str, name: str) -> tuple[Decimal | None, Decimal | None]:
        kind, _, where = subject.partition(":")
        if kind == "vehicle" or "." in name or not name.endswith("_mm"):
            return None, None
        table, place, otherwise = self.subject(f"{subject}.{name}").table, "part_id = ?", "maker"
        if kind == "opening":
            place, otherwise = "vehicle_id = ? AND opening_id = ?", "measured"
        params = where.split("/") if kind == "opening" else [where]
        read = f'SELECT "{name}", "{name}_tol", basis FROM "{table}" WHERE {place}'
        value, tol, basis = self.catalog.con.execute(read, params).fetchone() or (None, None, None)
        return value, self.catalog.settings.tolerances().of(basis or otherwise, value) if tol is None else tol

    def _plain(self, name: str, value: Value) -> Value:
        """Convert a value to its stored form: counts are whole numbers."""
        return int(value) if isinstance(self.column(name).kind, CountKind) else value

    def _family(self, part_id: str) -> str:
        return self.subject(f"part:{part_id}.").table

    def subject(self, name: str) -> ReadingSubject:
        """Return the subject of a figure."""
        text = split_figure(name)[0]
        if text not in self._subjects:
            self._subjects[text] = find_subject(self.catalog.con, text)
        return self._subjects[text]

    def column(self, name: str) -> TableColumn:
        """Return the column of a figure."""
        return self.subject(name).column(split_figure(name)[1])
