"""Channel groups and their loads: powers, gains and verdicts as arrays.

A channel group is a block of a source's channels as its loads see it: powers into the rated loads, and the least load.
All arrays are whole micro-units with masks of known values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from matcher.kernel.columns import Columns
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.feed import FEED, ORIGINAL
from matcher.rules.package import BASS_CHANNELS, OWN_CHANNELS
from matcher.rules.rule import rules_of
from matcher.search.exact.arrays import MICRO, Figures, Flags, figures_of
from matcher.search.exact.choices import Ints
from matcher.search.feeds.links import GroupFigures
from matcher.search.fits.refusing import refused_or_not
from matcher.search.scoring import NOT_KNOWN
from matcher.settings import Settings

RATED = (4 * MICRO, 2 * MICRO, MICRO)
"""Loads at which powers are rated, in micro-ohm, highest first."""
OPEN_FEED = max(rule.measure for rule in (*rules_of(FEED), *rules_of(ORIGINAL), BASS_CHANNELS, OWN_CHANNELS))
"""The best verdict code of an open feed: no open feed loses fewer points."""


@dataclass(frozen=True, eq=False)
class ChannelGroups:
    """The distinct channel groups of one kind of source in one mode."""

    powers: tuple[Figures, Figures, Figures]
    least: Figures

    def __len__(self) -> int:
        return len(self.least.values)


def channel_groups(some: Sequence[GroupFigures]) -> ChannelGroups:
    """Return some of the channel groups."""
    first, second, third, least = (figures_of([one[at] for one in some]) for at in range(4))
    return ChannelGroups((first, second, third), least)


@dataclass(frozen=True)
class Wired:
    """Loads on channel groups, shape (kinds,), to be combined with each group and each load in parallel.

    Parameters
    ----------
    load
        Load on the group, in micro-ohm.
    blocks
        Number of groups per loudspeaker.
    rms
        Power rating, in microwatts.
    original
        Whether it is an original, whose rating no rule requires.
    """

    load: Figures
    blocks: Ints
    rms: Figures
    original: Flags


@dataclass(frozen=True)
class Feeds:
    """Results of each load on each channel group with each parallel load: shape (groups, kinds, besides)."""

    code: Ints
    gain: Ints
    """Gain of the power over 1 W in hundredths of a decibel; NOT_KNOWN if unknown."""


def feeds_of(groups: ChannelGroups, wired: Wired, beside: Figures | None, hopeful: bool, settings: Settings) -> Feeds:
    """Return the feeds of every load on every group; `beside` are possible parallel loads."""
    load = wired.load.at((None, slice(None), None))
    total = _parallel(load, beside.at((None, None, slice(None)))) if beside is not None else load
    power = _shares(groups, total, load, wired.blocks[None, :, None])
    return Feeds(*_outcome(groups, wired, total, power, hopeful, settings))


def _parallel(first: Figures, second: Figures) -> Figures:
    """Loads in parallel: exact for whole micro-ohms, as rated loads are."""
    known = first.known & second.known
    both = np.where(known, first.values + second.values, 1)
    with np.errstate(all="ignore"):
        return Figures(np.where(known, first.values * second.values / both, 0.0), known)


def _shares(groups: ChannelGroups, total: Figures, load: Figures, blocks: Ints) -> Figures:
    """Share of a load in its group's power: both see one voltage, so power splits by conductance."""
    whole, known = _power(groups, total)
    known = known & load.known
    with np.errstate(all="ignore"):
        share = whole * blocks * total.values / np.where(load.values == 0, 1, load.values)
    return Figures(np.where(known, np.rint(np.where(known, share, 0.0)), 0).astype(np.int64), known)


def _power(groups: ChannelGroups, total: Figures) -> tuple[np.ndarray, Flags]:
    """Power of each group into each load, in microwatts, as in `block_power_w`."""
    across = (slice(None), None, None)
    powers = [one.at(across) for one in groups.powers]
    load = np.where(total.known, total.values, 0).astype(np.float64)
    shape = np.broadcast_shapes(load.shape, powers[0].values.shape)
    power, known = np.zeros(shape), np.zeros(shape, dtype=np.bool_)
    with np.errstate(all="ignore"):
        held = powers[0].values * RATED[0] / load  # above the rated load the voltage holds
    _put(power, known, load >= RATED[0], held, powers[0].known)
    for at, lower in ((0, 1), (1, 2)):
        between = (load > RATED[lower]) & (load < RATED[at])
        with np.errstate(all="ignore"):
            least = np.minimum(powers[at].values * RATED[at] / load, powers[lower].values)
        _put(power, known, between, least, powers[at].known & powers[lower].known)
        _put(power, known, load == RATED[lower], powers[lower].values, powers[lower].known)
    return power, known & total.known


def _put(power: np.ndarray, known: Flags, where: Flags, value: np.ndarray, is_known: Flags) -> None:
    """Set the powers for one case."""
    case = where & is_known
    np.copyto(power, value, where=np.broadcast_to(case, power.shape), casting="unsafe")
    known |= case


def _outcome(
    groups: ChannelGroups, wired: Wired, total: Figures, power: Figures, hopeful: bool, settings: Settings
) -> tuple[Ints, Ints]:
    """Verdict codes and gains."""
    rms = wired.rms.at((None, slice(None), None))
    code = feed_codes(total, groups.least.at((slice(None), None, None)), power, rms, wired.original, settings)
    fed, known = power.values, power.known
    if hopeful:  # an unknown power is taken to be all that is taken
        fed, known = np.where(known | ~rms.known, fed, rms.values), known | rms.known
    rated = rms.known & (rms.values > 0)
    taken = np.where(rated, np.minimum(fed, np.broadcast_to(rms.values, fed.shape)), fed)
    with np.errstate(all="ignore"):
        gain = np.rint(1000 * np.log10(taken / MICRO))
    return code, np.where(known & (taken > 0), gain, NOT_KNOWN).astype(np.int64)


def feed_codes(
    total: Figures, least: Figures, power: Figures, rms: Figures, original: Flags, settings: Settings
) -> Ints:
    """Worst verdict code of each feed."""
    shown = Figures(np.rint(np.where(total.known, total.values, 0)).astype(np.int64), total.known)
    named = {"load_ohm": shown, "least_ohm": least, "power_w": power, "rms_w": rms}
    columns = Columns({f"feed.{name}": one.column for name, one in named.items()})
    shape = np.broadcast_shapes(power.values.shape, least.values.shape)
    found = np.broadcast_to(worst(rules_of(FEED), Evaluation(columns, settings)), shape).astype(np.int64)
    if original.any():
        others = np.broadcast_to(worst(rules_of(ORIGINAL), Evaluation(columns, settings)), shape)
        found = np.where(original[None, :, None], others, found)
    return refused_or_not(found)  # type: ignore[no-any-return]
