"""Amplifiers by electrical class, one or two of them, with what drives the bass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from matcher.rules.package import AMPLIFIER_CHANNELS, BASS_CHANNELS, OWN_CHANNELS
from matcher.rules.rule import NO
from matcher.search.candidates.table import CandidateTable
from matcher.search.exact.arrays import group_max, group_min
from matcher.search.exact.choices import ENDLESS, USES, Ints, Slot, relaxed
from matcher.search.feeds.links import channel_code
from matcher.search.feeds.parts import AmplifierSignature
from matcher.search.feeds.plans import BASS_MODES, Mode
from matcher.search.tree.bass import BassSource
from matcher.search.tree.channels import ChannelGroups, GroupFigures, channel_groups, group_figures

TURN = 0
MODES: tuple[Mode, ...] = ("pair", "bridged", "bass")
"""Modes that hang on figures of their own; a shared pair is a pair to them."""
BRIDGED = 2
"""Channels that a bridged pair takes."""


class AmplifierClasses:
    """The electrical classes of a job's amplifiers.

    Parameters
    ----------
    signatures
        What each class is.
    profile
        By class: which inputs it has, as the line table numbers them.
    """

    def __init__(self, signatures: Sequence[AmplifierSignature], profile: Ints) -> None:
        self.signatures, self.profile = signatures, profile
        self.channels = np.array([-1 if one.channels is None else one.channels for one in signatures], dtype=np.int64)
        self.group: dict[Mode, Ints] = {}
        self.groups: dict[Mode, ChannelGroups] = {}
        for mode in MODES:
            numbers: dict[GroupFigures, int] = {}
            at = [numbers.setdefault(group_figures(one, mode), len(numbers)) for one in signatures]
            self.group[mode], self.groups[mode] = np.array(at, dtype=np.int64), channel_groups(list(numbers))
        self.group["shared"], self.groups["shared"] = self.group["pair"], self.groups["pair"]
        self._sources: dict[int, list[tuple[BassSource, ...]]] = {}

    def __len__(self) -> int:
        return len(self.signatures)

    def bass_sources(self, taken: int) -> list[tuple[BassSource, ...]]:
        """By class: the ways in which it can drive bass beside the full-range channels that are taken."""
        if taken not in self._sources:
            self._sources[taken] = [self._sources_of(at, taken) for at in range(len(self))]
        return self._sources[taken]

    def _sources_of(self, at: int, taken: int) -> tuple[BassSource, ...]:
        one = self.signatures[at]
        rule = AMPLIFIER_CHANNELS if taken else OWN_CHANNELS
        bridged = channel_code(rule, one.channels, taken + BRIDGED)
        codes = {"bass": channel_code(BASS_CHANNELS, one.bass_channels, 1), "bridged": bridged}
        return tuple(
            BassSource(mode, int(self.group[mode][at]), codes[mode]) for mode in BASS_MODES if codes[mode] != NO
        )


class AmplifierTable:
    """Amplifiers for one task, bounded by electrical class.

    Parameters
    ----------
    fills
        Their slot: `amplifier`, or `bass_amplifier` for one that drives the bass alone.
    """

    def __init__(self, table: CandidateTable, classes: int, fills: str, *, by_goods: bool) -> None:
        self.table, self._classes, self._fills, self._by_goods = table, classes, fills, by_goods
        self._slots: dict[int, Slot] = {}

    @cached_property
    def tops(self) -> Ints:
        """The greatest relaxed values by class."""
        table = self.table
        return group_max(relaxed(table.points, table.cents, table.uses), table.group, self._classes)

    @cached_property
    def least_cents(self) -> Ints:
        """The least money by class."""
        return group_min(self.table.cents, self.table.group, self._classes, ENDLESS)

    @cached_property
    def least_uses(self) -> Ints:
        """The least of the limited sums by class."""
        uses = np.zeros((len(self.table), USES), dtype=np.int64) if self.table.uses is None else self.table.uses
        return group_min(uses, self.table.group, self._classes, ENDLESS)

    def slot(self, at: int) -> Slot:
        """The amplifiers of a class."""
        if at not in self._slots:
            rows = self.table.rows_in(at)
            self._slots[at] = self.table.slot(rows, self._fills, TURN, by_goods=self._by_goods)
        return self._slots[at]


@dataclass(frozen=True)
class AmplifierPair:
    """Two amplifiers: one for the loudspeakers, and one that drives the bass alone.

    Parameters
    ----------
    code
        What the rules say of both on one spot; FITS if each has its own.
    """

    code: int
    first: AmplifierTable
    second: AmplifierTable
