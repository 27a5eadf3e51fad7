"""The bass slot of a core: every system on every block that may drive it.

A block is a channel for bass or a bridged pair, of the amplifier that the plan has, or of one for
bass alone at another spot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.bass import BassSide, BassSystem
from matcher.search.links import Coils, Link, link_of
from matcher.search.looks import Needs, less
from matcher.search.parts import NO_USE, AmplifierSignature, Candidate, amplifiers_alike
from matcher.search.plans import BASS_MODES, Feed, Mode, Source, bass_feed
from matcher.search.ranking import MULTIPLIERS, SCALE, Entry, Greatest, Slot, add_uses, undominated
from matcher.search.scoring import Scoring
from matcher.search.slots import AloneSlot, Fitted, RoomSlot, highest, link_gain_cdb

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


def bass_links(side: BassSide, blocks: Blocks) -> Iterator[Link]:
    """Every link of a bass system with some blocks."""
    for group in side.groups:
        for coils in group.nets:
            for mode, _ in blocks.modes:
                yield link_of(blocks.signature, mode, coils, group.signature)


@dataclass(frozen=True, slots=True)
class BassNet:
    """A group of systems, by its position, in one net on a block, and what the rules say of it."""

    group: int
    mode: Mode
    coils: Coils
    link: Link
    code: int


@dataclass(frozen=True, slots=True)
class BassTop:
    """What systems have at most: alone, by multiplier, and in either level; and at least in money."""

    values: tuple[int, ...]
    at_1w_cdb: int | None
    travel_cdb: int | None
    cents: int


def bass_top(systems: Sequence[BassSystem], multipliers: Sequence[int]) -> BassTop | None:
    """The tops of some systems; None where there is none."""
    if not systems:
        return None
    loud = [one for one in systems if one.at_1w_cdb is not None and one.travel_cdb is not None]
    return BassTop(
        tuple(max(SCALE * one.points - times * one.cents for one in systems) for times in multipliers),
        max((one.at_1w_cdb for one in loud if one.at_1w_cdb is not None), default=None),
        max((one.travel_cdb for one in loud if one.travel_cdb is not None), default=None),
        min(one.cents for one in systems),
    )


def _lower(gain_cdb: int | None, at_1w_cdb: int | None, travel_cdb: int | None) -> int | None:
    """The lower of what power and travel allow."""
    if gain_cdb is None or at_1w_cdb is None or travel_cdb is None:
        return None
    return min(at_1w_cdb + gain_cdb, travel_cdb)


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
            made = [entry for net in self._nets(blocks, sure) for entry in self._on_net(source, net, sure)]
            kept = undominated(_best_by_name(made), self.side.k)
            self._read[key] = [replace(entry, what=entry.what.fitted()) for entry in kept]
        return self._read[key]  # type: ignore[no-any-return]

    def rough(self, blocks: Blocks, sure: bool, multipliers: Sequence[int]) -> Greatest | None:
        """For each group and net on some blocks: what its systems have at most, taken together."""
        key = ("rough", blocks, sure, multipliers)
        if key not in self._read:
            tops = self._tops(multipliers, sure)
            found = []
            for net in self._nets(blocks, sure):
                top = tops[net.group]
                if top is not None:
                    level = _lower(link_gain_cdb(net.link), top.at_1w_cdb, top.travel_cdb)
                    earned = self.scoring.bass(level) + self.scoring.bass_aim(net.link.power_w, net.link.rms_w)
                    found.append((tuple(value + SCALE * earned for value in top.values), top.cents, NO_USE))
            self._read[key] = highest(found)
        return self._read[key]  # type: ignore[no-any-return]

    def _tops(self, multipliers: Sequence[int], sure: bool) -> list[BassTop | None]:
        key = ("tops", multipliers, sure)
        if key not in self._read:
            kept = ([one for one in group.systems if not (sure and one.unsure)] for group in self.side.groups)
            self._read[key] = [bass_top(systems, multipliers) for systems in kept]
        return self._read[key]  # type: ignore[no-any-return]

    def _nets(self, blocks: Blocks, sure: bool) -> Iterator[BassNet]:
        """Each group in every net that the blocks carry."""
        for mode, known in blocks.modes:
            for at, group in enumerate(self.side.groups):
                for coils in group.nets:
                    if self.side.feed_wanted not in (None, (mode, coils.net)):
                        continue
                    link = link_of(blocks.signature, mode, coils, group.signature)
                    code = min(known, self.codes[link])
                    if code != NO and not (sure and code != FITS):
                        yield BassNet(at, mode, coils, link, code)

    def _on_net(self, source: Source, net: BassNet, sure: bool) -> Iterator[Entry]:
        """The systems of a group in one net on a block."""
        scoring, link = self.scoring, net.link
        aim, doubt = scoring.bass_aim(link.power_w, link.rms_w), scoring.unknown(net.code != FITS)
        for one in self.side.groups[net.group].systems:
            if sure and one.unsure:
                continue
            known_points = 0 if one.unsure else doubt
            earned = scoring.bass(one.level_cdb(link)) + aim
            points = (("bass", earned), ("known", known_points))
            feed = bass_feed(source, net.mode, str(one.box.opening_id))
            fed = Fed(one, feed, net.coils, link, net.code != FITS, points)
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

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """What no system on the blocks exceeds."""
        return self._table.rough(self._blocks, self._sure, multipliers)

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

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """The best amplifier of each signature with what no system on it exceeds."""
        return self._top(multipliers, AloneSlot.rough)

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """The same, of amplifiers without what comes along with them."""
        return self._top(multipliers, AloneSlot.bare)

    def _top(
        self, multipliers: Sequence[int], measure: Callable[[AloneSlot, Sequence[int]], Greatest | None]
    ) -> Greatest | None:
        found = []
        for signature, parts in amplifiers_alike(self._amplifiers).items():
            own = measure(self._alone(parts), multipliers)
            system = self._table.rough(blocks_of(signature, 0), self._sure, multipliers)
            if own is not None and system is not None:
                found.append((add_uses(own[0], system[0]), own[1] + system[1], own[2]))
        return highest(found)

    def tell(self, need: tuple[int, ...], needs: Needs) -> None:
        """Of each amplifier what the best system on it leaves to bring."""
        for signature, parts in amplifiers_alike(self._amplifiers).items():
            system = self._table.rough(blocks_of(signature, 0), self._sure, MULTIPLIERS[: len(need)])
            if system is not None:
                self._alone(parts).tell(less(need, system[0]), needs)

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
        (*system.name[:-1], "".join(amplifier.name)),
        (*system.what, own),
    )
