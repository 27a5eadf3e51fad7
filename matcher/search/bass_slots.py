"""The bass slot of a core: every system on every block that may drive it.

A block is a channel for bass or a bridged pair, of the amplifier that the plan has, or of one for
bass alone at another spot.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.bass import BassGroup, BassSide, BassSystem
from matcher.search.links import Coils, Link, link_of
from matcher.search.parts import NO_USE, AmplifierSignature, Candidate, amplifiers_alike
from matcher.search.plans import BASS_MODES, Feed, Mode, Source, bass_feed
from matcher.search.ranking import Entry, Slot, undominated
from matcher.search.scoring import Scoring
from matcher.search.slots import AloneSlot, Fitted, RoomSlot

NO_OWN = ""
"""The word for no amplifier of its own in the name of a bass system."""


@dataclass(frozen=True, slots=True)
class Fed:
    """A system on a feed: what an entry is made of."""

    system: BassSystem
    feed: Feed
    coils: Coils
    link: Link
    unsure: bool
    points: tuple[tuple[str, int], ...]

    def fitted(self) -> tuple[Fitted, ...]:
        """Driver and box as they stand in a package."""
        system = self.system
        unsure = self.unsure or system.driver.unsure
        driver = Fitted(system.driver, self.feed, self.coils, self.link, unsure, self.points, system)
        return driver, Fitted(system.box, unsure=system.box.unsure, bass=system)


@dataclass(frozen=True, slots=True)
class Blocks:
    """What an amplifier has for bass: the figures that decide, and how sure each way is."""

    signature: AmplifierSignature
    modes: tuple[tuple[Mode, int], ...]
    """Each way that its channels allow, and what is known of them."""


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


def bass_links(side: BassSide, signature: AmplifierSignature) -> Iterator[Link]:
    """Every link of a bass system with an amplifier."""
    blocks = blocks_of(signature, 0)
    for group in side.groups:
        for coils in group.nets:
            for mode, _ in blocks.modes:
                yield link_of(blocks.signature, mode, coils, group.signature)


@dataclass
class BassTable:
    """What the rules say of each link, and what follows from it; asked again, it is read once."""

    side: BassSide
    scoring: Scoring
    codes: Mapping[Link, int]

    def __post_init__(self) -> None:
        self._read: dict[object, Any] = {}

    def entries(self, source: Source, blocks: Blocks, sure: bool) -> Sequence[Entry]:
        """The best systems on some blocks, whatever the amplifier costs."""
        key = (source, blocks, sure)
        if key not in self._read:
            made = [
                entry
                for mode, known in blocks.modes
                if not (sure and known != FITS)
                for group in self.side.groups
                for entry in self._on_block(source, mode, known, blocks.signature, group, sure)
            ]
            kept = undominated(_best_by_name(made), self.side.k)
            self._read[key] = [replace(entry, what=entry.what.fitted()) for entry in kept]
        return self._read[key]  # type: ignore[no-any-return]

    def _on_block(
        self, source: Source, mode: Mode, known: int, signature: AmplifierSignature, group: BassGroup, sure: bool
    ) -> Iterator[Entry]:
        """The systems of a group in every net that the block carries."""
        scoring = self.scoring
        for coils in group.nets:
            if self.side.feed_wanted not in (None, (mode, coils.net)):
                continue
            link = link_of(signature, mode, coils, group.signature)
            code = min(known, self.codes[link])
            if code == NO or (sure and code != FITS):
                continue
            aim, doubt = scoring.bass_aim(link.power_w, link.rms_w), scoring.unknown(code != FITS)
            for one in group.systems:
                if sure and one.unsure:
                    continue
                known_points = 0 if one.unsure else doubt
                earned = scoring.bass(one.level_cdb(link)) + aim
                points = (("bass", earned), ("known", known_points))
                fed = Fed(one, bass_feed(source, mode, str(one.box.opening_id)), coils, link, code != FITS, points)
                yield Entry(one.points + earned + known_points, one.cents, NO_USE, (*one.name, NO_OWN), fed)


def _best_by_name(entries: list[Entry]) -> list[Entry]:
    """Of one system's feeds only the one with most points; of equal ones the surer, then the first."""
    kept: dict[tuple[str, ...], Entry] = {}
    for entry in entries:
        held = kept.get(entry.name)
        if held is None or (entry.points, not entry.what.unsure) > (held.points, not held.what.unsure):
            kept[entry.name] = entry
    return list(kept.values())


class SharedBass(Slot):
    """Bass on the amplifier that the plan has."""

    def __init__(self, table: BassTable, blocks: Blocks, sure: bool) -> None:
        self._table, self._blocks, self._sure = table, blocks, sure

    @cached_property
    def entries(self) -> Sequence[Entry]:
        return self._table.entries("amplifier", self._blocks, self._sure)


class OwnBass(Slot):
    """Bass with an amplifier of its own, one of these."""

    def __init__(
        self, table: BassTable, amplifiers: Sequence[Candidate], sure: bool, room: Mapping[str, int] | None = None
    ) -> None:
        self._table, self._amplifiers, self._sure, self._room = table, amplifiers, sure, room

    def _alone(self, parts: Sequence[Candidate]) -> AloneSlot:
        """The amplifiers of one signature; on a spot that they share, with the room that each takes of it."""
        k = self._table.side.k
        return AloneSlot(parts, k, self._sure) if self._room is None else RoomSlot(parts, k, self._sure, self._room)

    @cached_property
    def entries(self) -> Sequence[Entry]:
        made = [
            _together(amplifier, system)
            for signature, parts in amplifiers_alike(self._amplifiers).items()
            for amplifier in self._alone(parts).entries
            for system in self._table.entries("bass_amplifier", blocks_of(signature, 0), self._sure)
        ]
        return undominated(made, self._table.side.k)


def _together(amplifier: Entry, system: Entry) -> Entry:
    (fitted,) = amplifier.what
    own = replace(fitted, candidate=replace(fitted.candidate, slot="bass_amplifier"))
    return Entry(
        amplifier.points + system.points,
        amplifier.cents + system.cents,
        tuple(map(sum, zip(amplifier.uses, system.uses, strict=True))),
        (*system.name[:-1], amplifier.name[0]),
        (*system.what, own),
    )
