"""Groups of candidates that are one to whatever feeds them: who may matter, and what they bring at most."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from operator import ge
from typing import NamedTuple

from matcher.search.exact.entries import greatest_values
from matcher.search.feeds.links import Kind
from matcher.search.feeds.parts import Candidate, SpeakerSignature

Group = tuple[SpeakerSignature, list[Candidate]]


def groups_of(candidates: Sequence[Candidate], k: int, doubt: int) -> list[Group]:
    """Loudspeakers by signature, without those that k others of their signature always beat.

    `doubt` is what a feed that is not sure takes off, as `Scoring.unknown` says.
    """
    by_signature: dict[SpeakerSignature, list[Candidate]] = {}
    for one in candidates:
        by_signature.setdefault(one.signature, []).append(one)  # type: ignore[arg-type]
    return [(signature, _unbeaten(group, k, doubt)) for signature, group in by_signature.items()]


def _unbeaten(group: list[Candidate], k: int, doubt: int) -> list[Candidate]:
    """Kept: candidates that fewer than k others beat in points, in level and in money at once."""
    kept: list[Candidate] = []
    merits: list[Merit] = []
    for one in sorted(group, key=lambda one: (one.cents, one.name)):
        # All that are kept are cheaper, or as cheap and before it by name: they win every tie.
        merit = Merit(one.total_points, -1 if one.level_cdb is None else one.level_cdb, one.unsure)
        if sum(_beats(other, merit, doubt) for other in merits) < k:
            kept.append(one)
            merits.append(merit)
    return kept


class Merit(NamedTuple):
    """What a candidate brings to any feed."""

    points: int
    level_cdb: int
    unsure: bool


def _beats(other: Merit, one: Merit, doubt: int) -> bool:
    """Whether it has no fewer points on any feed: on a doubtful one only what is sure by itself loses some."""
    if other.level_cdb < one.level_cdb or other.unsure > one.unsure:
        return False
    lost = doubt if one.unsure and not other.unsure else 0
    return other.points + lost >= one.points


@dataclass(frozen=True, slots=True)
class GroupTop:
    """What a group's members have at most: alone, by multiplier, and in level; and at least in money."""

    values: tuple[int, ...]
    loudest_cdb: int | None
    cents: int

    @property
    def level(self) -> int:
        """The greatest level; one that is not known earns no more than the lowest."""
        return LOWEST_CDB if self.loudest_cdb is None else self.loudest_cdb


LOWEST_CDB = -(10**9)


def group_top(members: Sequence[Candidate], multipliers: Sequence[int]) -> GroupTop | None:
    """The tops of a group; None where it has no member."""
    if not members:
        return None
    return GroupTop(
        greatest_values([(one.total_points, one.cents) for one in members], multipliers),
        max((one.level_cdb for one in members if one.level_cdb is not None), default=None),
        min(one.cents for one in members),
    )


class Crest(NamedTuple):
    """What loudspeakers of one kind have at most at one load."""

    kind: Kind
    tops: list[GroupTop]
    """Of the groups that no other one always outdoes."""
    cents: int


def crest_of(kind: Kind, tops: Iterable[GroupTop]) -> Crest | None:
    """The crest of some groups of a kind; None where there is none."""
    kept: list[GroupTop] = []
    every = sorted(tops, key=lambda top: (top.values, top.level), reverse=True)
    for top in every:
        if not any(_outdoes(other, top) for other in kept):
            kept.append(top)
    return Crest(kind, kept, min(top.cents for top in every)) if kept else None


def _outdoes(other: GroupTop, top: GroupTop) -> bool:
    """Whether it brings no less by any multiplier, in whichever net."""
    return other.level >= top.level and all(map(ge, other.values, top.values))
