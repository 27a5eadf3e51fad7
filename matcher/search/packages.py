"""Packages as the ranking finds them: parts, how they are fed, and their place in the total order."""

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
    """A candidate in a package, with how it is fed if it is a loudspeaker."""

    candidate: Candidate
    feed: Feed | None = None
    coils: CoilWiring | None = None
    link: BlockLink | None = None
    unsure: bool = False
    link_points: tuple[tuple[str, int], ...] = ()
    bass: BassSystem | None = None
    """The system that it belongs to, if it is a bass driver or its box."""

    @property
    def points(self) -> tuple[tuple[str, int], ...]:
        """All its points, by criterion."""
        return (*self.candidate.points, *self.link_points)


@dataclass(frozen=True, slots=True)
class Sources:
    """A package's plan and what feeds it."""

    plan: Plan
    head: HeadSignature | None
    """The channel group that the plan takes of the head unit; None if it takes none."""
    amplifier: AmplifierSignature | None
    code: int
    """The worst that the rules say of the sources together: their line levels, channels and shared spot."""

    def of(self, feed: Feed) -> SourceSignature:
        """The signature that a feed comes from."""
        source = self.head if feed.source == "head_unit" else self.amplifier
        assert source is not None
        return source


@dataclass(frozen=True, slots=True)
class Found:
    """A package."""

    points: int
    cents: int
    uses: tuple[int, ...]
    """Use of each limited sum beside money, as `USES` names them."""
    name: Name
    sources: Sources
    rank: int
    """The position of its plan among the plans."""
    doubt_points: int
    """Points lost once for what is left to measure of its sources together."""
    plan_points: int
    """Points lost for how its plan feeds places together."""
    fitted: tuple[PackageCandidate, ...]

    @property
    def order(self) -> tuple[int, int, Name]:
        """Its place in the total order: more points, less money, then by name."""
        return (-self.points, self.cents, self.name)
