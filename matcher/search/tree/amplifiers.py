"""Amplifiers by electrical class, one or two of them, and the sources of bass."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from matcher.rules.package import AMPLIFIER_CHANNELS, BASS_CHANNELS, OWN_CHANNELS
from matcher.rules.rule import NO
from matcher.search.candidates.table import CandidateTable
from matcher.search.exact.arrays import group_max, group_min
from matcher.search.exact.choices import ENDLESS, USES, Ints, Slot, relaxed
from matcher.search.feeds.links import GroupFigures, channel_codes, group_figures
from matcher.search.feeds.parts import AmplifierSignature
from matcher.search.feeds.plans import BASS_MODES, Mode
from matcher.search.tree.bass import BassSource
from matcher.search.tree.channels import ChannelGroups, channel_groups

TURN = 0
MODES: tuple[Mode, ...] = ("pair", "bridged", "bass")
"""Modes with figures of their own; a shared pair counts as a pair."""
BRIDGED = 2
"""Channels used by a bridged pair."""


class AmplifierClasses:
    """The electrical classes of a job's amplifiers.

    Parameters
    ----------
    signatures
        Figures of each class.
    profile
        Index of each class's inputs in the line table.
    """

    def __init__(self, signatures: Sequence[AmplifierSignature], profile: Ints) -> None:
        self.signatures, self.profile = signatures, profile
        self.channels = _whole(one.channels for one in signatures)
        self.group: dict[Mode, Ints] = {}
        self.groups: dict[Mode, ChannelGroups] = {}
        for mode in MODES:
            numbers: dict[GroupFigures, int] = {}
            at = [numbers.setdefault(group_figures(one, mode), len(numbers)) for one in signatures]
            self.group[mode], self.groups[mode] = np.array(at, dtype=np.int64), channel_groups(list(numbers))
        self.group["shared"], self.groups["shared"] = self.group["pair"], self.groups["pair"]
        self._bass_channels = _whole(one.bass_channels for one in signatures)
        self.bass_sources = cache(self._bass_sources)

    def __len__(self) -> int:
        return len(self.signatures)

    def _bass_sources(self, taken: int) -> tuple[list[tuple[BassSource, ...]], Ints]:
        """Ways to drive bass besides the full-range channels in use, and the way that each class has."""
        rule = AMPLIFIER_CHANNELS if taken else OWN_CHANNELS
        codes = {
            "bass": channel_codes(BASS_CHANNELS, self._bass_channels, 1),
            "bridged": channel_codes(rule, self.channels, taken + BRIDGED),
        }
        columns = [column for mode in BASS_MODES for column in (self.group[mode], codes[mode])]
        different, number = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)
        ways = [zip(BASS_MODES, each[::2], each[1::2], strict=True) for each in different.tolist()]
        return [tuple(BassSource(*way) for way in each if way[2] != NO) for each in ways], number.ravel()


def _whole(channels: Iterable[int | None]) -> Ints:
    """Numbers of channels, -1 if unknown."""
    return np.array([-1 if one is None else one for one in channels], dtype=np.int64)


class AmplifierTable:
    """Amplifiers for one task, bounded by electrical class.

    Parameters
    ----------
    fills
        Name of the slot: `amplifier`, or `bass_amplifier` for one that drives only the bass.
    """

    def __init__(self, table: CandidateTable, classes: int, fills: str) -> None:
        self.table, self._classes, self._fills = table, classes, fills
        self._slots: dict[int, Slot] = {}

    @cached_property
    def tops(self) -> Ints:
        """Maximum relaxed values by class."""
        table = self.table
        return group_max(relaxed(table.points, table.cents, table.uses), table.group, self._classes)

    @cached_property
    def least_cents(self) -> Ints:
        """Minimum money by class."""
        return group_min(self.table.cents, self.table.group, self._classes, ENDLESS)

    @cached_property
    def least_uses(self) -> Ints:
        """Minimum of the limited sums by class."""
        uses = np.zeros((len(self.table), USES), dtype=np.int64) if self.table.uses is None else self.table.uses
        return group_min(uses, self.table.group, self._classes, ENDLESS)

    def slot(self, at: int) -> Slot:
        """Return the amplifiers of a class."""
        if at not in self._slots:
            rows = self.table.rows_in(at)
            self._slots[at] = self.table.slot(rows, self._fills, TURN)
        return self._slots[at]


@dataclass(frozen=True)
class AmplifierPair:
    """Two amplifiers: one for the loudspeakers, and one that drives only the bass.

    Parameters
    ----------
    code
        Verdict code of both on one spot; FITS if each has its own.
    """

    code: int
    first: AmplifierTable
    second: AmplifierTable
