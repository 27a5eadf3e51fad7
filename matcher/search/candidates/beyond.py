"""Loudspeakers that only more alteration than is allowed would fit: on any feed the best of each signature.

The best has most points for level and reach; of equal ones it is the cheapest, then the first by name.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

import numpy as np

from matcher.kernel.distinct import Numbers, distinct
from matcher.search.candidates.loudspeakers import SpeakersAt, speakers_at
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate, SpeakerSignature
from matcher.search.fits.mounted import Fitted
from matcher.search.question import JobQuestion, SpeakerPlace
from matcher.search.scoring import NOT_KNOWN, Scoring

OnFeed = tuple[SpeakerSignature, int | None]
"""A signature, and what a feed adds to the level at 1 W, in hundredths of a decibel; none where that is not known."""


def speakers_beyond(
    catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, k: int
) -> SpeakersBeyond:
    """The loudspeakers of an opening beyond its step; `k` is how many packages were asked for."""
    at = speakers_at(catalog, question, place, k)
    key = ("beyond", question.job.vehicle_id, place, k)
    rows = catalog.once(key, lambda: _cheapest(speakers_at(catalog, question, place, k), place.allowed))
    return SpeakersBeyond(at, place, scoring, rows)


def _cheapest(at: SpeakersAt, allowed: int) -> dict[SpeakerSignature, Numbers]:
    """The ways in beyond a step by signature, by money and name; of those alike in level and reach the cheapest."""
    rows = np.flatnonzero(at.mountings.taken > allowed)
    ranked = rows[np.lexsort((at.mountings.names[rows], at.mountings.cents[rows]))]
    part, sound = at.mountings.part[ranked], at.sound
    first = np.sort(distinct([sound.signature[part], sound.level[part], sound.reach[part]], len(part)).first)
    cheapest, signature = ranked[first], sound.signature[part][first]
    return {sound.signatures[number]: cheapest[signature == number] for number in np.unique(signature).tolist()}


@dataclass
class SpeakersBeyond:
    """What is beyond the step of one opening, by what is wished for."""

    at: SpeakersAt
    place: SpeakerPlace
    scoring: Scoring
    _rows: dict[SpeakerSignature, Numbers]
    _best: dict[OnFeed, Candidate] = field(default_factory=dict)

    @property
    def signatures(self) -> list[SpeakerSignature]:
        """Every signature of them."""
        return list(self._rows)

    def best(self, feeds: Collection[OnFeed]) -> dict[OnFeed, Candidate]:
        """The best of each of these signatures on each of these feeds."""
        for one in feeds:
            if one not in self._best:
                self._best[one] = self._find(*one)
        return {one: self._best[one] for one in feeds}

    def _find(self, signature: SpeakerSignature, gain: int | None) -> Candidate:
        rows, mountings, sound = self._rows[signature], self.at.mountings, self.at.sound
        part = mountings.part[rows]
        points = sound.low_points(self.scoring)[part]
        if gain is not None:
            levels, number = np.unique(sound.level[part], return_inverse=True)
            earned = [0 if level == NOT_KNOWN else self.scoring.level(level + gain) for level in levels.tolist()]
            points = points + np.array(earned, np.int64)[number]
        row = int(rows[np.argmax(points)])  # the rows go by money and name: the first of the best is the cheapest
        (adapter,) = mountings.mates.cheapest(mountings.classes[int(mountings.through[row])], 1)
        return self.at.candidate(Fitted(row, int(mountings.part[row]), adapter), self.place, self.scoring)
