"""The best loudspeakers on any feed that would need more alteration than allowed.

The best has the most points for level and range; ties go to the cheaper one, then to the first by name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from matcher.kernel.distinct import Numbers, distinct, numbered
from matcher.search.candidates.loudspeakers import SpeakersAt, at_place, speakers_at
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate, SpeakerSignature
from matcher.search.fits.place import is_allowed
from matcher.search.question import JobQuestion, SpeakerPlace
from matcher.search.scoring import NOT_KNOWN, Scoring

OnFeed = tuple[SpeakerSignature, int | None]
"""Electrical class, and gain of the feed over 1 W in hundredths of a decibel; None: unknown."""


def speakers_beyond(catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring) -> SpeakersBeyond:
    """The loudspeakers of an opening beyond its allowed step."""

    def find() -> SpeakersBeyond:
        at, own = speakers_at(catalog, question, place), at_place(scoring, place)
        return SpeakersBeyond(at, place, own, _cheapest(at, place.allowed, own))

    key = ("beyond", question.job.vehicle_id, place, scoring.wishes)
    found: SpeakersBeyond = catalog.once(key, find)
    return found


def _cheapest(at: SpeakersAt, allowed: int, scoring: Scoring) -> Numbers:
    """Mountings beyond a step, by money and name; of those equal in class, level, band and travel only the cheapest."""
    rows = np.flatnonzero(~is_allowed(at.mountings.taken, allowed))
    ranked = rows[np.lexsort((at.mountings.names[rows], at.mountings.cents[rows]))]
    part, sound = at.mountings.part[ranked], at.sound
    heard = [sound.signature[part], sound.level[part], sound.band[part], sound.travel(scoring)[part]]
    return ranked[np.sort(distinct(heard, len(part)).first)]


@dataclass
class SpeakersBeyond:
    """The best beyond the allowed step at one opening, by criterion."""

    at: SpeakersAt
    place: SpeakerPlace
    scoring: Scoring
    rows: Numbers
    """Mountings by money and name."""

    @cached_property
    def _of(self) -> dict[SpeakerSignature, Numbers]:
        """Positions in `rows`, by electrical class."""
        number = self.at.sound.signature[self._part]
        return {self.at.sound.signatures[one]: np.flatnonzero(number == one) for one in numbered(number)[0].tolist()}

    @cached_property
    def _part(self) -> Numbers:
        return self.at.mountings.part[self.rows]

    @cached_property
    def _reach_points(self) -> Numbers:
        return self.at.sound.band_points(self.scoring)[self._part]

    @property
    def signatures(self) -> list[SpeakerSignature]:
        """Every electrical class of them."""
        return list(self._of)

    def best(self, feeds: Sequence[OnFeed]) -> tuple[int, int, int] | None:
        """Return the best on any of some feeds: points, position in `rows`, and position of the feed; None: no feed."""
        if not feeds:
            return None
        some = [self._of[signature] for signature, _ in feeds]
        position = np.concatenate(some)
        feed = np.repeat(np.arange(len(feeds)), [len(each) for each in some])
        gain = np.array([NOT_KNOWN if gain is None else gain for _, gain in feeds], np.int64)[feed]
        level = self.at.sound.level[self._part[position]]
        heard = (gain > NOT_KNOWN) & (level > NOT_KNOWN)
        reached = np.minimum(level + gain, self.at.sound.travel(self.scoring)[self._part[position]])
        earned = np.where(heard, self.scoring.level_points(np.where(heard, reached, 0)), 0)
        points = self._reach_points[position] + earned
        most = np.flatnonzero(points == points.max())
        first = most[np.lexsort((feed[most], position[most]))[0]]  # of equal ones the cheapest
        return int(points[first]), int(position[first]), int(feed[first])

    def candidate(self, position: int) -> Candidate:
        """A loudspeaker through its cheapest adapter."""
        row = int(self.rows[position])
        return self.at.candidate(row, int(self.at.mountings.adapter[row]), self.place, self.scoring)
