"""The best package that holds one certain part.

The part's candidates are read from a catalog in which its family holds it alone, and stand in a field
whose other slots are the whole catalog's. An amplifier need not be in a package at all, and may drive
the loudspeakers or the bass alone: it is given points beyond all others, which are taken off again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, field, replace

from matcher.search.candidates.line_aids import Helped, LineAids, Told, line_aids
from matcher.search.cores import Field
from matcher.search.exact.entries import Entry
from matcher.search.exact.packages import Bounds, Found
from matcher.search.exact.ranking import Ranking
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.gathering import gather_field
from matcher.search.question import JobQuestion
from matcher.search.what_if.assumed import only_part

FORCED = "forced"
"""The criterion under which a part gets the points that no other part outweighs."""
BEYOND = 10**9
IN_SETS = frozenset({"security", "accessory"})
"""Families whose parts stand together in sets: there no other part may be left out."""


@dataclass
class OnePart:
    """One part, to be asked about in job after job of a vehicle."""

    sweeps: Sweeps
    part_id: str
    family: str
    _alone: Sweeps = field(init=False)

    def __post_init__(self) -> None:
        self._alone = Sweeps(self.sweeps.con, self.sweeps.settings, self.sweeps.codes)

    def field(self, question: JobQuestion) -> Field:
        """A field in which the part is the only one of its family, or every set of such parts is kept."""
        con = self.sweeps.con
        in_sets = self.family in IN_SETS
        with nullcontext() if in_sets else only_part(con, self.family, self.part_id):
            row = con.execute(f'SELECT count(*) FROM "{self.family}"').fetchone() if in_sets else None
            return gather_field(self._alone, question, Look(row[0] if row else 1))

    def best(self, whole: Field, bounds: Bounds) -> Found | None:
        """The best package of a field that holds the part."""
        found = [
            plain(one)
            for way in self.ways(whole)
            for one in Ranking(way.cores()).best(bounds, 1)
            if any(self.part_id in names_of(fitted.candidate) for entry in one.entries for fitted in entry.what)
        ]
        return min(found, key=lambda one: (one.order, one.core.rank), default=None)

    def ways(self, whole: Field) -> Iterator[Field]:
        """The field with the part in each slot that it may fill."""
        for way in self._ways(whole, self.field(whole.question)):
            own = replace(way, aids=self._aids(way))
            own.ask_rules(self.sweeps.con)
            yield own

    def _aids(self, way: Field) -> LineAids:
        """The accessories that make a line level, the part alone among them where it is one: what they are is cached
        by the head units of a field.
        """
        every = line_aids(self.sweeps, way.scoring, 1)
        mine = [row for row in every.rows if row[0] == self.part_id]
        return ForcedAid(mine, self.sweeps, way.scoring, 1) if mine else every

    def _ways(self, whole: Field, alone: Field) -> Iterator[Field]:
        if heads := self._mine(alone.heads):
            yield replace(whole, heads=heads)
        if self.makes_level(whole):
            yield whole
        for place, parts in alone.speakers.items():
            if speakers := self._mine(parts):
                yield replace(whole, speakers=whole.speakers | {place: speakers})
        if amplifiers := self._mine(alone.amplifiers):
            others = [one for one in whole.amplifiers if self.part_id not in names_of(one)]
            yield replace(whole, amplifiers=[*map(self._lifted, amplifiers), *others])
            if whole.bass is not None:
                beside = [replace(one, quiet=self._lifted(one.quiet or one)) for one in amplifiers]
                yield replace(whole, amplifiers=[*beside, *others])
        if alone.bass is not None and whole.bass is not None:
            systems = alone.bass.holding(self.part_id)
            if systems:
                yield replace(whole, bass=whole.bass.only(systems))
        for at, slot in enumerate(alone.beside):
            sets = [some for some in slot.alternatives if any(one.part_id == self.part_id for one in some)]
            if sets:
                kept = replace(whole.beside[at], alternatives=sets)
                yield replace(whole, beside=[*whole.beside[:at], kept, *whole.beside[at + 1 :]])

    def _lifted(self, one: Candidate) -> Candidate:
        """The amplifier given the points, or what comes along with it: it may come without its board."""
        if one.part_id == self.part_id:
            return lifted_up(one)
        along = (lifted_up(each) if each.part_id == self.part_id else each for each in one.along)
        return replace(one, along=tuple(along))

    def makes_level(self, whole: Field) -> bool:
        """Whether the part is an accessory that makes a line level."""
        return whole.aids is not None and any(row[0] == self.part_id for row in whole.aids.rows)

    def _mine(self, candidates: list[Candidate]) -> list[Candidate]:
        return [one for one in candidates if self.part_id in names_of(one)]


class ForcedAid(LineAids):
    """An accessory that makes a line level, given points beyond all others."""

    @property
    def most_points(self) -> int:
        """What it adds at most."""
        return BEYOND

    def helped(self, heads: Sequence[Candidate], told: Told) -> Iterator[Helped]:
        """Head units with it, where it betters their line."""
        for one in super().helped(heads, told):
            yield replace(one, aids=tuple(map(lifted_up, one.aids)))


def names_of(one: Candidate) -> tuple[str | None, ...]:
    """Every part that a candidate brings: itself, its adapter, what comes along."""
    return (one.part_id, one.adapter_id, *(other.part_id for other in one.along))


def lifted_up(one: Candidate) -> Candidate:
    """A candidate with points beyond all others."""
    return replace(one, points=(*one.points, (FORCED, BEYOND)))


def plain(found: Found) -> Found:
    """A package without the points that forced a part into it."""
    entries = tuple(map(_plain_entry, found.entries))
    return replace(found, points=found.points - _beyond(found.entries) + _beyond(entries), entries=entries)


def _beyond(entries: tuple[Entry, ...]) -> int:
    return sum(entry.points for entry in entries)


def _plain_entry(entry: Entry) -> Entry:
    what = tuple(replace(one, candidate=_plain_candidate(one.candidate)) for one in entry.what)
    given, left = (sum(one.candidate.total_points for one in some) for some in (entry.what, what))
    return replace(entry, points=entry.points - given + left, what=what)


def _plain_candidate(one: Candidate) -> Candidate:
    points = tuple(each for each in one.points if each[0] != FORCED)
    return replace(one, points=points, along=tuple(map(_plain_candidate, one.along)))
