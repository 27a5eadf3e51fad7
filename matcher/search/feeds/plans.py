"""Plans: the channel group that drives each loudspeaker place, and how.

The sources are the head unit's own amplifier and one multi-channel amplifier. A place uses a pair of channels, a
bridged pair for each loudspeaker, or shares a pair with another place, both in parallel. Bass is independent of the
plan: it uses a bass channel or a bridged pair of that amplifier, or of a second one for bass alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal

Source = Literal["head_unit", "amplifier", "bass_amplifier"]
Mode = Literal["pair", "bridged", "shared", "bass"]
BASS_MODES: tuple[Mode, ...] = ("bass", "bridged")
"""Modes of a channel group for bass, in the order of preference: by a channel for it, by a bridged pair."""


@dataclass(frozen=True, slots=True)
class Fed:
    """A place that needs a feed."""

    opening_id: str
    count: int
    is_rear: bool = False


@dataclass(frozen=True, slots=True)
class Feed:
    """One feed: a source, how its channels are used, and the places on it."""

    source: Source
    mode: Mode
    openings: tuple[str, ...]
    channels: int
    has_no_fader: bool = False
    """Whether a front and a rear place share channels."""


@dataclass(frozen=True, slots=True)
class Plan:
    """All feeds of a package."""

    feeds: tuple[Feed, ...]

    def channels(self, source: Source) -> int:
        """Number of the source's channels that the plan uses."""
        return sum(feed.channels for feed in self.feeds if feed.source == source)

    def modes(self, source: Source) -> frozenset[Mode]:
        """Modes in which the plan uses a source's channels."""
        return frozenset(feed.mode for feed in self.feeds if feed.source == source)

    @property
    def without_fader(self) -> int:
        """Number of feeds without a fader."""
        return sum(feed.has_no_fader for feed in self.feeds)

    @property
    def amplified(self) -> bool:
        """Whether the plan uses an amplifier."""
        return any(feed.source == "amplifier" for feed in self.feeds)


def bass_feed(source: Source, mode: Mode, opening_id: str) -> Feed:
    """The feed of a bass box: one bass channel, or a bridged pair of full-range ones."""
    return Feed(source, mode, (opening_id,), 1 if mode == "bass" else 2)


def every_plan(places: list[Fed], with_amplifier: bool) -> list[Plan]:
    """Return every plan for these places in a fixed order, plain ones first."""
    sources: tuple[Source, ...] = ("head_unit", "amplifier") if with_amplifier else ("head_unit",)
    plans = [
        Plan(feeds)
        for groups in _groupings(places)
        for feeds in product(*(list(_feeds(group, sources)) for group in groups))
    ]
    return sorted(plans, key=lambda plan: (plan.amplified, len(plan.feeds) != len(places), _total(plan)))


def _total(plan: Plan) -> int:
    return sum(feed.channels for feed in plan.feeds)


def _groupings(places: list[Fed]) -> Iterator[list[tuple[Fed, ...]]]:
    """Every way to feed each place alone or two of them together."""
    if not places:
        yield []
        return
    first, rest = places[0], places[1:]
    for others in _groupings(rest):
        yield [(first,), *others]
    for position, partner in enumerate(rest):
        for others in _groupings(rest[:position] + rest[position + 1 :]):
            yield [(first, partner), *others]


def _feeds(group: tuple[Fed, ...], sources: tuple[Source, ...]) -> Iterator[Feed]:
    names = tuple(place.opening_id for place in group)
    for source in sources:
        no_fader = len({place.is_rear for place in group}) > 1
        yield Feed(source, "shared" if len(group) == 2 else "pair", names, 2, no_fader)
        if source == "amplifier" and len(group) == 1:
            yield Feed(source, "bridged", names, 2 * group[0].count)
