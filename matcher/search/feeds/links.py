"""Links: wiring of a loudspeaker's coils on a channel group, with verdicts.

A link depends on electrical classes only, not on parts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from matcher.formulas.block import BASS_OHM, LOW_OHM, RATED_OHM, block_power_w, parallel_ohm
from matcher.kernel.columns import Column, Columns, columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import codes, worst
from matcher.rules.feed import FEED, ORIGINAL
from matcher.rules.package import AMPLIFIER_CHANNELS, HEAD_CHANNELS
from matcher.rules.rule import FITS, Rule, rules_of
from matcher.search.exact.arrays import MICRO, Figures, Flags, figures_of
from matcher.search.feeds.parts import AmplifierSignature, Candidate, HeadSignature, LineAid, SpeakerSignature
from matcher.search.feeds.plans import Mode
from matcher.search.fits.refusing import refused_or_not
from matcher.search.scoring import gain_cdb
from matcher.settings import DEFAULT_SETTINGS, Settings

SourceSignature = HeadSignature | AmplifierSignature


@dataclass(frozen=True, slots=True)
class CoilWiring:
    """Coil wirings of a loudspeaker, and the load on each channel group."""

    net: str
    load_ohm: Decimal | None
    blocks: int
    """Number of channel groups per loudspeaker: two if each channel has coils of its own."""


@dataclass(frozen=True, slots=True)
class BlockLink:
    """One loudspeaker on one channel group: the figures that the rules of a feed compare."""

    load_ohm: Decimal | None
    least_ohm: Decimal | None
    power_w: Decimal | None
    rms_w: Decimal | None
    original: bool


def coil_nets(speaker: SpeakerSignature, count: int, mode: Mode) -> list[CoilWiring]:
    """Return the wirings that give every coil the same power.

    At a place that serves both channels, either each channel has its own coils, or a bridged pair that is fed the sum
    of both drives them all: the channels themselves are never tied together.
    """
    ohm, coils = speaker.impedance_ohm, speaker.coils
    if count == 2 or mode == "bridged":
        return [CoilWiring(name, load, 1) for name, load in _joined(ohm, coils)]
    if coils % 2:
        return []
    return [CoilWiring(f"{name}, on each channel", load, 2) for name, load in _joined(ohm, coils // 2)]


def coil_wirings(speaker: SpeakerSignature, count: int, mode: Mode, stays: bool) -> list[CoilWiring]:
    """Return `coil_nets`; an original loudspeaker kept on the original head unit keeps its wiring."""
    if stays and speaker.original and count == 1 and mode == "pair":
        return [CoilWiring("as it was", speaker.impedance_ohm, 1)]
    return coil_nets(speaker, count, mode)


def _joined(ohm: Decimal | None, coils: int) -> list[tuple[str, Decimal | None]]:
    if coils == 1:
        return [("one coil", ohm)]
    if ohm is None:
        return [("coils in series", None)]
    nets: list[tuple[str, Decimal | None]] = [("coils in series", ohm * coils), ("coils in parallel", ohm / coils)]
    return [*nets, ("coils in series and parallel", ohm)] if coils == 4 else nets


Load = Decimal | None
"""Load of a wiring on a channel group, in ohm; None if unknown."""


@lru_cache(maxsize=1 << 17)
def link_of(
    source: SourceSignature, mode: Mode, coils: CoilWiring, speaker: SpeakerSignature, beside_ohm: Load = None
) -> BlockLink:
    """Return a loudspeaker's link; `beside_ohm` is the load that shares its channel group.

    In parallel both see the same voltage, so the power splits in proportion to the conductances.
    """
    total = load_ohm = coils.load_ohm
    if mode == "shared":
        total = None if load_ohm is None or beside_ohm is None else _whole(parallel_ohm([load_ohm, beside_ohm]))
    *powers, least = group_figures(source, mode)
    power = block_power_w(total, *powers)
    return BlockLink(
        _short(total), least, _share(power, coils.blocks, total, load_ohm), speaker.rms_w, speaker.is_unrated
    )


def _share(power: Decimal | None, blocks: int, total: Load, load_ohm: Load) -> Decimal | None:
    """Share of a load in the power into the total load of its channel group."""
    known = power is not None and total is not None and load_ohm is not None
    return _short(power * blocks * total / load_ohm) if known else None  # type: ignore[operator,arg-type]


GroupFigures = tuple[Decimal | None, Decimal | None, Decimal | None, Decimal | None]
"""Powers into 4, 2 and 1 ohm, and the least load."""


def group_figures(source: HeadSignature | AmplifierSignature, mode: Mode) -> GroupFigures:
    """Figures of a source that a mode of its channels depends on."""
    if isinstance(source, HeadSignature):
        return source.amp_w, None, None, source.amp_min_ohm
    if mode == "bass":
        return source.bass_w_4ohm, source.bass_w_2ohm, source.bass_w_1ohm, source.bass_min_ohm
    if mode == "bridged":
        return source.bridged_w_4ohm, None, None, source.bridged_min_ohm
    return source.w_4ohm, source.w_2ohm, None, source.min_ohm


def _whole(load_ohm: Decimal) -> Decimal:
    """Round off the last digits lost by division, so that 2 ohm is exactly 2 ohm."""
    return round(load_ohm, 18)


def _short(number: Decimal | None) -> Decimal | None:
    """Round to a millionth, like the store's figures."""
    return None if number is None else round(number, 6)


def link_gain_cdb(link: BlockLink) -> int | None:
    """Return the gain of the feed over 1 W, in hundredths of a decibel.

    A loudspeaker takes no more than its rating from any amplifier.
    """
    if link.power_w is None or link.power_w <= 0:
        return None
    rated = link.rms_w
    return gain_cdb(link.power_w if rated is None or not rated else min(link.power_w, rated))


def level_cdb(one: Candidate, link: BlockLink) -> int | None:
    """Level at 1 m that a loudspeaker reaches on its feed: the lower of the limits by power and by travel."""
    gain = link_gain_cdb(link)
    return None if one.level_cdb is None or gain is None else min(one.level_cdb + gain, one.travel_cdb)


LINK_COLUMNS = ("load_ohm", "least_ohm", "power_w", "rms_w")


def link_codes(links: Iterable[BlockLink], settings: Settings) -> dict[BlockLink, int]:
    """Return the worst verdict code of each link."""
    found_codes: dict[BlockLink, int] = {}
    for scope, original in ((FEED, False), (ORIGINAL, True)):
        some_links = [link for link in dict.fromkeys(links) if link.original == original]
        if some_links:
            found = refused_or_not(worst(rules_of(scope), Evaluation(link_columns(some_links), settings)))
            found_codes |= dict(zip(some_links, np.broadcast_to(found, len(some_links)).tolist(), strict=True))
    return found_codes


def link_columns(links: Sequence[BlockLink]) -> Columns:
    """Return links as rules read them, one row each."""
    return columns_of("feed", [{name: getattr(link, name) for name in LINK_COLUMNS} for link in links])


PAIR = 2
"""Left and right: a head unit with fewer line outputs cannot feed an amplifier."""

DRIVER, CONVERTER = "line_driver", "line_output_converter"
"""Kinds of accessories that provide a line level."""

Outputs = tuple[int | None, int | None, Decimal | None, Decimal | None]
"""Loudspeaker channels, line outputs, their volts and tolerance: all that an amplifier's inputs are held against."""
Inputs = tuple[Decimal | None, Decimal | None, bool | None, Decimal | None, Decimal | None, bool | None, bool | None]
"""Least and greatest volts, whether it takes a loudspeaker output, tolerances, whether it has filters."""


def outputs_of(head: HeadSignature) -> Outputs:
    """Figures of the head unit that a line depends on."""
    return head.amp_channels, head.preouts, head.preout_v, head.preout_v_tol


def inputs_of(amplifier: AmplifierSignature) -> Inputs:
    """Figures of the amplifier that a line and its filters depend on."""
    tols = amplifier.input_min_v_tol, amplifier.input_max_v_tol
    held = amplifier.high_pass, amplifier.low_pass
    return amplifier.input_min_v, amplifier.input_max_v, amplifier.high_level_in, *tols, *held


def line_columns(outputs: Sequence[Outputs], inputs: Sequence[Inputs], aid: LineAid | None = None) -> Columns:
    """Head units' outputs, or what an accessory makes of them, against amplifiers' inputs, as their rules read them.

    An accessory's level is set when it is fitted: a driver's from the head unit's own up to its greatest, a
    converter's from nothing. Shape (inputs, outputs).
    """
    channels, preouts, volts, tols = (figures_of([one[at] for one in outputs]) for at in range(4))
    few = preouts.known & (preouts.values < PAIR * MICRO)
    by_line = Figures(np.where(few, 0, preouts.values), preouts.known)
    usable = _usable(channels, preouts, few, [one[2] for one in inputs])
    greatest = least = Column(volts.values, volts.known, np.where(tols.known, tols.values, 0))
    if aid is not None:
        greatest = figures_of([aid.greatest_v] * len(outputs)).column
    if aid is not None and aid.kind == CONVERTER:
        by_line, usable = figures_of([PAIR] * len(outputs)), channels
        least = Column(np.zeros_like(greatest.values), greatest.known)
    columns = {"preouts": by_line.column, "usable": usable.column, "greatest_v": greatest, "preout_v": least}
    for at, name in enumerate(("input_min_v", "input_max_v")):
        taken, off = (figures_of([one[place] for one in inputs]).at((slice(None), None)) for place in (at, 3 + at))
        columns[name] = Column(taken.values, taken.known, np.where(off.known, off.values, 0))
    return Columns({f"line.{name}": one for name, one in columns.items()})


def _usable(channels: Figures, preouts: Figures, few: Flags, high_level: Sequence[bool | None]) -> Figures:
    """Outputs that each amplifier takes, shape (inputs, outputs): line outputs, or those for loudspeakers."""
    taken = np.array([one is True for one in high_level])[:, None]
    spoken_known = np.where(taken, channels.known, np.array([one is False for one in high_level])[:, None])
    spoken = np.where(taken & channels.known, channels.values, 0)
    # Outputs that nobody has counted may do if there are no loudspeaker outputs.
    uncounted = np.where(spoken_known & (spoken > 0), spoken, 0)
    values = np.where(preouts.known, np.where(few, np.maximum(preouts.values, spoken), preouts.values), uncounted)
    known = np.where(preouts.known, ~few | spoken_known, uncounted > 0)
    return Figures(values, known)


def usable_wants(head: HeadSignature, amplifier: AmplifierSignature, aid: LineAid | None = None) -> tuple[str, str]:
    """Slot and field that state how many outputs the amplifier can use."""
    if aid is not None and aid.kind == CONVERTER:
        return "head_unit", "amp_channels"
    if head.preouts is None:
        return "head_unit", "preouts"
    return ("amplifier", "high_level_in") if amplifier.high_level_in is None else ("head_unit", "amp_channels")


def channel_codes(rule: Rule, have: npt.NDArray[np.int64], needed: int) -> npt.NDArray[np.int64]:
    """Verdict codes of a rule of channels for some sources; a negative number of channels means unknown."""
    channels = {str(rule.have): Column(have * MICRO, have >= 0), str(rule.need): Column(np.array([needed * MICRO]))}
    found_codes = codes(rule, Evaluation(Columns(channels), DEFAULT_SETTINGS))
    return np.minimum(np.broadcast_to(found_codes, have.shape), FITS).astype(np.int64)


@lru_cache(maxsize=1024)
def channel_code(rule: Rule, have: int | None, needed: int) -> int:
    """Return `channel_codes` of one source."""
    return int(channel_codes(rule, np.array([-1 if have is None else have]), needed)[0])


def channels_code(source: SourceSignature, needed: int) -> int:
    """Return whether a source has the channels that a plan uses."""
    if isinstance(source, HeadSignature):
        return channel_code(HEAD_CHANNELS, source.amp_channels, needed)
    return channel_code(AMPLIFIER_CHANNELS, source.channels, needed)


def power_wants(source: SourceSignature, mode: Mode, load_ohm: Decimal | None) -> list[str]:
    """Fields that are missing to know a source's power into a load."""
    if isinstance(source, HeadSignature):
        return ["amp_w"]
    if mode == "bridged":
        return ["full_bridged_w_4ohm"]
    if mode == "bass":
        return _bass_wants(source, load_ohm)
    wanted = {"full_w_4ohm": source.w_4ohm, "full_w_2ohm": source.w_2ohm}
    if load_ohm is not None and load_ohm >= RATED_OHM:
        del wanted["full_w_2ohm"]
    if load_ohm is not None and load_ohm <= LOW_OHM:
        del wanted["full_w_4ohm"]
    return [name for name, figure in wanted.items() if figure is None]


def _bass_wants(source: AmplifierSignature, load_ohm: Decimal | None) -> list[str]:
    """For a bass channel: the unknown powers at the rated loads around this one."""
    rated = {"bass_w_4ohm": (RATED_OHM, None), "bass_w_2ohm": (LOW_OHM, RATED_OHM), "bass_w_1ohm": (BASS_OHM, LOW_OHM)}
    powers = {name: getattr(source, name) for name in rated}
    if load_ohm is None:
        return [name for name, figure in powers.items() if figure is None]
    return [name for name, figure in powers.items() if figure is None and _is_beside(load_ohm, *rated[name])]


def _is_beside(load_ohm: Decimal, ohm: Decimal, above: Decimal | None) -> bool:
    """Whether a power at a rated load bounds that at another load: from half of it up to the next rated load."""
    return load_ohm == ohm or (ohm / 2 < load_ohm and (above is None or load_ohm < above))


LEAST_FIELD = {
    "pair": "full_min_ohm",
    "shared": "full_min_ohm",
    "bridged": "full_bridged_min_ohm",
    "bass": "bass_min_ohm",
}
"""Field with an amplifier's least load, by the use of its channels."""
