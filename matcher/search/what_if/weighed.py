"""The best package with figures of one part supposed: the winner of now, or the best that holds the part.

Whatever is read of a part, packages without it stay as they are. So where the winner has it not, only those that hold
it are ranked, and only as far as they may stand before the winner: mostly a bound tells that none does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from matcher.search.candidates.accessories import equipped
from matcher.search.candidates.amplifiers import amplifiers
from matcher.search.candidates.boards import boarded
from matcher.search.candidates.head_units import head_units
from matcher.search.candidates.line_aids import line_aids
from matcher.search.candidates.loudspeakers import speakers
from matcher.search.candidates.supply import supplied
from matcher.search.cores import Field
from matcher.search.exact.packages import Found
from matcher.search.exact.patience import Patience
from matcher.search.exact.ranking import Ranking
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import bounds_of
from matcher.search.question import JobQuestion
from matcher.search.rooms import Rooms
from matcher.search.what_if.assumed import only_part
from matcher.search.what_if.forced import BEYOND, lifted_up, names_of, plain
from matcher.search.what_if.in_time import in_time

ALONE = ("speaker", "head_unit", "amplifier", "subwoofer", "enclosure")
"""Families of which a part stands for itself: what others there are in its place does not hang on it."""


def touched_by(family: str, question: JobQuestion) -> set[str] | None:
    """The families and openings of which what was read hangs on a part of a family; none where it reaches further."""
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


@dataclass
class Before:
    """What there is before a part is weighed: the winner, the field that it won, and what was read for it."""

    winner: Found | None
    field: Field
    sweeps: Sweeps

    def may_weigh(self, part_id: str, family: str) -> bool:
        """Whether a part can be weighed by the packages that hold it.

        A loudspeaker that keeps others out at one place might go with them at another.
        """
        places = [some for some in self.field.speakers.values() if any(one.part_id == part_id for one in some)]
        return family in ALONE and len(places) < 2 and (self.winner is None or not holds(self.winner, part_id))

    def with_part(self, part_id: str, family: str, alone: Sweeps, patience: Patience) -> Found | None:
        """The best package with a part as it is supposed to be now; `alone` holds nothing that was read of it.

        Raises
        ------
        Interrupted
            where time is over before it is sure which that is.
        """
        bounds = bounds_of(self.field.question, self.field.question.job.limits.budget)
        beyond = BEYOND if family == "amplifier" else 0
        least = None if self.winner is None else self.winner.points + beyond
        found = [] if self.winner is None else [self.winner]
        with only_part(alone.con, family, part_id):
            ways = list(self._ways(part_id, family, alone))
        for way in ways:
            own = replace(way, aids=line_aids(alone, way.scoring, 1))  # they keep what head units there are
            own.ask_rules(alone.con)
            found += map(plain, Ranking(own.cores(), patience).best(bounds, 1, least))
            in_time(patience)
        return min(found, key=lambda one: one.order, default=None)

    def _ways(self, part_id: str, family: str, alone: Sweeps) -> Iterator[Field]:
        """The field with the part in each slot that it may fill; an amplifier need not drive all there is."""
        whole, question, scoring, look = self.field, self.field.question, self.field.scoring, Look(1)
        if family == "speaker":
            for place in question.speakers:
                if some := _those(speakers(alone, question, place, scoring, look).candidates, part_id):
                    yield replace(whole, speakers=whole.speakers | {place.opening_id: some})
        elif family == "head_unit":
            matter = line_aids(alone, scoring, 1).needs
            heads = (read(alone, question, scoring, matter, look) for read in (head_units, equipped))
            if some := _those((one for filled in heads for one in filled.candidates), part_id):
                yield replace(whole, heads=some)
        elif family == "amplifier":
            bare = amplifiers(alone, question, scoring, look).candidates
            yield from self._driven_by(
                supplied(alone, question, scoring, boarded(alone, question, scoring, bare)), alone
            )
        elif whole.bass is not None:
            from matcher.search.bass.systems import bass_side  # what no job needs is not loaded for it

            systems = bass_side(alone, question, scoring, look).holding(part_id)
            if systems:
                yield replace(whole, bass=whole.bass.only(systems))

    def _driven_by(self, some: Sequence[Candidate], alone: Sweeps) -> Iterator[Field]:
        """The field with an amplifier given points beyond all others, for the loudspeakers or for the bass."""
        if not some:
            return
        rooms = partial(Rooms, alone, self.field.scoring, self.field.question.job.vehicle_id)
        others = [one for one in self.field.amplifiers if one.part_id != some[0].part_id]
        yield replace(self.field, amplifiers=[*map(lifted_up, some), *others], rooms=rooms)
        if self.field.bass is not None:
            beside = [replace(one, quiet=lifted_up(one.quiet or one)) for one in some]
            yield replace(self.field, amplifiers=[*beside, *others], rooms=rooms)


def _those(some: Iterable[Candidate], part_id: str) -> list[Candidate]:
    return [one for one in some if one.part_id == part_id]  # an original that stays is none of them


def holds(found: Found, part_id: str) -> bool:
    """Whether a package holds a part."""
    return any(part_id in names_of(one.candidate) for entry in found.entries for one in entry.what)
