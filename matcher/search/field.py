"""The candidates of a job that its ranking is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import prod
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from matcher.search.candidates.table import Beside
from matcher.search.feeds.links import CoilWiring, coil_wirings
from matcher.search.feeds.parts import Candidate, SpeakerSignature
from matcher.search.feeds.plans import BASS_MODES, Feed, Plan, every_plan
from matcher.search.fits.mounted import Tally
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide
    from matcher.search.candidates.amplifiers import Amplifiers
    from matcher.search.candidates.line_aids import LineAids
    from matcher.search.rooms import Rooms


@dataclass(frozen=True)
class PinnedSlot:
    """A slot that must be filled, and only by certain amplifiers.

    Parameters
    ----------
    fills
        `amplifier`, `bass_amplifier` or `line_aid`: slots that a package may otherwise leave empty.
    wanted
        Returns a mask of the amplifiers that may fill it.
    """

    fills: str
    wanted: Callable[[Amplifiers], NDArray[np.bool_]]


def of_model(part_id: str, spot: str | None) -> Callable[[Amplifiers], NDArray[np.bool_]]:
    """Amplifiers of one model, optionally on one spot."""

    def wanted(some: Amplifiers) -> NDArray[np.bool_]:
        here = some.cells["part_id"] == part_id
        return np.asarray(here & (some.cells["spot"] == spot) if spot is not None else here, np.bool_)

    return wanted


def every_model(some: Amplifiers) -> NDArray[np.bool_]:
    """Any amplifier."""
    return np.ones(len(some), np.bool_)


@dataclass
class RankingField:
    """The input of a job's ranking: candidates, plans, and their joint verdicts."""

    question: JobQuestion
    scoring: Scoring
    heads: Sequence[Candidate]
    amplifiers: Amplifiers
    speakers: dict[str, Sequence[Candidate]]
    beside: list[Beside] = field(default_factory=list)
    """Slots that no link involves."""
    bass: BassSide | None = None
    """Bass systems, if bass is asked for: then every package has one."""
    head_tallies: list[Tally] = field(default_factory=list)
    """Number of head units, including dominated ones."""
    tallies: dict[str, dict[SpeakerSignature, Tally]] = field(default_factory=dict)
    """Number of loudspeakers of each electrical class for each place."""
    amplifier_tallies: Mapping[str, Tally] = field(default_factory=dict)
    """Number of amplifiers that fit each spot."""
    aids: LineAids | None = None
    """Accessories that provide a line level."""
    rooms: Rooms | None = None
    """The spots that two amplifiers may share."""
    nets_wanted: Mapping[str, str] = field(default_factory=dict)
    """By opening: the coil wiring that alone is looked at; all of them at an opening that is not named."""
    with_head: Callable[..., Candidate] = lambda filters, music_ma, wired=(): Candidate(slot="none")
    """Additions of a plan to a head unit: in-line filters, current of own channels, wire to an amplifier."""
    pins: tuple[PinnedSlot, ...] = ()
    """Slots that must be filled by certain amplifiers."""
    plans_wanted: Callable[[Plan], bool] = lambda plan: True
    """The plans to consider."""
    made: dict[object, Any] = field(init=False, default_factory=dict)
    """Results computed from these candidates; a changed field starts with none."""

    @cached_property
    def plans(self) -> list[Plan]:
        """Every plan for the places of the job."""
        every = every_plan([place.fed for place in self.question.speakers], any(self._on_spots))
        return [plan for plan in every if self.plans_wanted(plan)]

    @property
    def is_bare(self) -> bool:
        """Whether some slot has no candidate at all, so that no package exists."""
        filled = [self.heads, *self.speakers.values(), *(slot.alternatives for slot in self.beside)]
        return not all(map(len, filled)) or (self.bass is not None and not any(one.ways for one in self.bass.stocks))

    @property
    def _on_spots(self) -> list[int]:
        """Number of amplifiers that fit each spot."""
        return [tally.ways for tally in self.amplifier_tallies.values()]

    def considered(self) -> int:
        """Number of combinations of parts, plans and coil wirings that an answer covers."""
        total, heads = 0, sum(tally.ways for tally in self.head_tallies)
        for plan in self.plans:
            alone = sum(self._on_spots) if plan.amplified else 1
            ways = heads * (alone if self.bass is None else self._bass_ways(self.bass, plan))
            ways *= 1 + (len(self.aids) if self.aids and (plan.amplified or self.bass is not None) else 0)
            ways *= prod(self._fed_ways(name, feed) for feed in plan.feeds for name in feed.openings)
            total += ways * prod(slot.ways for slot in self.beside)
        return total

    def _fed_ways(self, opening_id: str, feed: Feed) -> int:
        """Number of loudspeakers for a place, each in every coil wiring that a feed allows."""
        key = "fed ways", opening_id, feed.source, feed.mode
        if key not in self.made:
            some = self.tallies[opening_id].items()
            self.made[key] = sum(tally.ways * len(self.wirings(opening_id, one, feed)) for one, tally in some)
        ways: int = self.made[key]
        return ways

    def wirings(self, opening_id: str, one: SpeakerSignature, feed: Feed) -> list[CoilWiring]:
        """The coil wirings of a loudspeaker at a place on a feed."""
        (count,) = (place.count for place in self.question.speakers if place.opening_id == opening_id)
        stays = self.question.dash_id is None and feed.source == "head_unit"
        wanted = self.nets_wanted.get(opening_id)
        return [coils for coils in coil_wirings(one, count, feed.mode, stays) if wanted in (None, coils.net)]

    def _bass_ways(self, side: BassSide, plan: Plan) -> int:
        """Choices of amplifiers for a plan, each with every bass system in every wiring on every source for it."""
        count = sum(self._on_spots)
        apart = count * count - sum(here * here for here in self._on_spots)
        pairs = apart if self.rooms is None else count * count
        return (count + (pairs if plan.amplified else 0)) * len(BASS_MODES) * side.ways
