"""Packages found by the ranking: parts, their feeds, and their place in the total order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matcher.search.exact.enumeration import Name
from matcher.search.feeds.links import BlockLink, CoilWiring, SourceSignature
from matcher.search.feeds.parts import AmplifierSignature, Candidate, HeadSignature
from matcher.search.feeds.plans import Feed, Plan

if TYPE_CHECKING:
    from matcher.search.bass.systems import BassSystem


@dataclass(frozen=True, slots=True)
class PackageCandidate:
    """A candidate in a package, with its feed if it is a loudspeaker."""

    candidate: Candidate
    feed: Feed | None = None
    coils: CoilWiring | None = None
    link: BlockLink | None = None
    unsure: bool = False
    link_points: tuple[tuple[str, int], ...] = ()
    bass: BassSystem | None = None
    """The bass system of a driver or box."""

    @property
    def points(self) -> tuple[tuple[str, int], ...]:
        """All points by criterion."""
        return (*self.candidate.points, *self.link_points)


@dataclass(frozen=True, slots=True)
class Sources:
    """A package's plan and its sources."""

    plan: Plan
    head: HeadSignature | None
    """Channel group of the head unit that the plan uses; None if it uses none."""
    amplifier: AmplifierSignature | None
    code: int
    """Worst verdict code of the sources together: line levels, channels, shared spot."""

    def of(self, feed: Feed) -> SourceSignature:
        """Electrical class of a feed's source."""
        source = self.head if feed.source == "head_unit" else self.amplifier
        assert source is not None
        return source


@dataclass(frozen=True, slots=True)
class Found:
    """A package."""

    points: int
    cents: int
    uses: tuple[int, ...]
    """Amounts of the limited sums other than money, in the order of `USES`."""
    name: Name
    sources: Sources
    rank: int
    """Index of the plan."""
    doubt_points: int
    """Points lost for open verdicts of the sources together."""
    plan_points: int
    """Points lost for places that the plan feeds together."""
    fitted: tuple[PackageCandidate, ...]

    @property
    def order(self) -> tuple[int, int, Name]:
        """Sort key of the total order: points descending, money, name."""
        return (-self.points, self.cents, self.name)
