"""What an amplifier has for bass, and every link of a system with it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.bass.side import BassSide
from matcher.search.feeds.links import Link, link_of
from matcher.search.feeds.parts import AmplifierSignature
from matcher.search.feeds.plans import BASS_MODES, Mode


@dataclass(frozen=True, slots=True)
class Blocks:
    """What an amplifier has for bass: the figures that decide, and how sure each way is."""

    signature: AmplifierSignature
    modes: tuple[tuple[Mode, int], ...]
    """Each way that its channels allow, and what is known of them."""


@lru_cache(maxsize=1 << 15)
def blocks_of(signature: AmplifierSignature, taken: int) -> Blocks:
    """The ways in which an amplifier can drive bass beside the full-range channels that are taken."""
    ways: dict[Mode, int] = {
        "bass": _channels(signature.bass_channels, 1),
        "bridged": _channels(signature.channels, taken + 2),
    }
    # Amplifiers that differ in nothing that bass hangs on are one.
    alike = AmplifierSignature(
        channels=0,
        w_4ohm=None,
        w_2ohm=None,
        min_ohm=None,
        bridged_w_4ohm=signature.bridged_w_4ohm if ways["bridged"] != NO else None,
        bridged_min_ohm=signature.bridged_min_ohm if ways["bridged"] != NO else None,
        input_min_v=None,
        input_max_v=None,
        high_level_in=None,
        bass_w_4ohm=signature.bass_w_4ohm if ways["bass"] != NO else None,
        bass_w_2ohm=signature.bass_w_2ohm if ways["bass"] != NO else None,
        bass_w_1ohm=signature.bass_w_1ohm if ways["bass"] != NO else None,
        bass_min_ohm=signature.bass_min_ohm if ways["bass"] != NO else None,
    )
    return Blocks(alike, tuple((mode, ways[mode]) for mode in BASS_MODES if ways[mode] != NO))


def _channels(have: int | None, needed: int) -> int:
    if have is None:
        return MEASURE
    return FITS if have >= needed else NO


def bass_links(side: BassSide, blocks: Blocks) -> Iterator[Link]:
    """Every link of a bass system with some blocks."""
    for coils, signature in side.loads:
        for mode, _ in blocks.modes:
            yield link_of(blocks.signature, mode, coils, signature)
