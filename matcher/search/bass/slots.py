"""The bass slot of a core: every system on every block that may drive it.

A block is a channel for bass or a bridged pair, of the amplifier that the plan has, or of one for
bass alone at another spot.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import ge
from typing import TYPE_CHECKING

from matcher.rules.rule import FITS, NO
from matcher.search.bass.blocks import Blocks, blocks_of
from matcher.search.bass.figures import BassSystem
from matcher.search.bass.groups import BassTop
from matcher.search.bass.shelves import level_on
from matcher.search.bass.side import BassSide
from matcher.search.exact.entries import (
    MULTIPLIERS,
    SCALE,
    Entry,
    Greatest,
    Slot,
    Values,
    add_uses,
    brings,
    less,
    undominated,
)
from matcher.search.exact.kept import Kept
from matcher.search.feeds.blocks import hoped, link_gain_cdb
from matcher.search.feeds.links import Coils, Link, link_of
from matcher.search.feeds.parts import NO_USE, Candidate, amplifiers_alike
from matcher.search.feeds.plans import Feed, Mode, Source, bass_feed
from matcher.search.feeds.slots import AloneSlot, Fitted, RoomSlot, best_by_name, both, highest
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.fits.looks import Needs

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
class BassNet:
    """A group of systems, by its position, in one net on a block, and what the rules say of it."""

    group: int
    mode: Mode
    coils: Coils
    link: Link
    code: int
    gain_cdb: int | None
    """What the power adds to the level at 1 W; none where that is not known."""
    aim: int
    """Points for power within the aim."""


@dataclass
class BassTable:
    """What the rules say of each link, and what follows from it; asked again, it is read once."""

    side: BassSide
    scoring: Scoring
    codes: Mapping[Link, int]

    def __post_init__(self) -> None:
        self._read = Kept()

    def slot(self, source: Source, blocks: Blocks, sure: bool) -> SystemSlot:
        """The best systems on some blocks, whatever the amplifier costs."""
        slot: SystemSlot = self._read.once((source, blocks, sure), SystemSlot, self, source, blocks, sure)
        return slot

    def entries(self, source: Source, blocks: Blocks, sure: bool, need: Values) -> Sequence[Entry]:
        """The best systems on some blocks that bring so much."""
        made = (entry for net in self._nets(blocks, sure) for entry in self._on_net(source, net, sure, need))
        kept = undominated(best_by_name(made, lambda entry: entry.what.unsure), self.side.k)
        return [replace(entry, what=entry.what.fitted()) for entry in kept]

    def rough(self, blocks: Blocks, sure: bool, multipliers: Sequence[int]) -> Greatest | None:
        """For each group and net on some blocks: what its systems have at most, taken together."""
        key = ("rough", blocks, sure, multipliers)
        top: Greatest | None = self._read.once(key, self._read_rough, blocks, sure, multipliers)
        return top

    def _read_rough(self, blocks: Blocks, sure: bool, multipliers: Sequence[int]) -> Greatest | None:
        found = []
        for net in self._nets(blocks, sure):
            top = self.side.groups[net.group].top(tuple(multipliers), sure)
            if top is not None:
                found.append((self._values(net, top), top.cents, NO_USE))
        return highest(found)

    def _values(self, net: BassNet, top: BassTop) -> Values:
        """What a group's systems in a net bring at most."""
        earned = self.scoring.bass(level_on(top.fronts, net.gain_cdb)) + net.aim
        return tuple(value + SCALE * earned for value in top.values)

    def _nets(self, blocks: Blocks, sure: bool) -> list[BassNet]:
        """Each group in every net that the blocks carry, read once."""
        nets: list[BassNet] = self._read.once(("nets", blocks, sure), lambda: list(self._carried(blocks, sure)))
        return nets

    def _carried(self, blocks: Blocks, sure: bool) -> Iterator[BassNet]:
        for mode, known in blocks.modes:
            told: dict[object, tuple[Link, int, int | None, int]] = {}  # by all that a link hangs on here
            for at, group in enumerate(self.side.groups):
                for coils in group.nets:
                    if self.side.feed_wanted not in (None, (mode, coils.net)):
                        continue
                    hangs_on = coils.load_ohm, group.signature.rms_w
                    if hangs_on not in told:
                        link = link_of(blocks.signature, mode, coils, group.signature)
                        fed = hoped(link, self.scoring)
                        aim = self.scoring.bass_aim(fed.power_w, fed.rms_w)
                        told[hangs_on] = link, min(known, self.codes[link]), link_gain_cdb(fed), aim
                    link, code, gain, aim = told[hangs_on]
                    if code != NO and not (sure and code != FITS):
                        yield BassNet(at, mode, coils, link, code, gain, aim)

    def _on_net(self, source: Source, net: BassNet, sure: bool, need: Values) -> Iterator[Entry]:
        """The systems of a group in one net on a block, as far as they bring so much."""
        group = self.side.groups[net.group]
        top = group.top(MULTIPLIERS, sure)
        if top is None or not all(map(ge, self._values(net, top), need)):
            return
        scoring, link = self.scoring, net.link
        doubt = scoring.unknown(net.code != FITS)
        left = tuple(value - SCALE * net.aim for value in need)
        for one in group.worth(left, net.gain_cdb, sure):
            known_points = 0 if one.unsure else doubt
            earned = scoring.bass(one.level_at_cdb(net.gain_cdb)) + net.aim
            if not brings(one.points + earned + known_points, one.cents, need):
                continue
            points = (("bass", earned), ("known", known_points))
            feed = bass_feed(source, net.mode, str(one.box.opening_id))
            fed = Fed(one, feed, net.coils, link, net.code != FITS, points)
            yield Entry(one.points + earned + known_points, one.cents, NO_USE, (*one.name, NO_OWN), fed)


class SystemSlot(Slot):
    """Bass systems on some blocks."""

    def __init__(self, table: BassTable, source: Source, blocks: Blocks, sure: bool) -> None:
        self._table, self._source, self._blocks, self._sure = table, source, blocks, sure

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """What no system on the blocks exceeds."""
        return self._table.rough(self._blocks, self._sure, tuple(multipliers))

    def made(self, need: Values) -> Sequence[Entry]:
        """As the table has them."""
        return self._table.entries(self._source, self._blocks, self._sure, need)


class OwnBass(Slot):
    """Bass with an amplifier of its own, one of these."""

    def __init__(
        self, table: BassTable, amplifiers: Sequence[Candidate], sure: bool, room: Mapping[str, int] | None = None
    ) -> None:
        self._table, self._amplifiers, self._sure, self._room = table, amplifiers, sure, room

    @cached_property
    def _pairs(self) -> list[tuple[AloneSlot, SystemSlot]]:
        """The amplifiers of each signature, and the systems on them."""
        return [
            (self._alone(parts), self._table.slot("bass_amplifier", blocks_of(signature, 0), self._sure))
            for signature, parts in amplifiers_alike(self._amplifiers).items()
        ]

    def _alone(self, parts: Sequence[Candidate]) -> AloneSlot:
        """The amplifiers of one signature; on a spot that they share, with the room that each takes of it."""
        k = self._table.side.k
        return AloneSlot(parts, k, self._sure) if self._room is None else RoomSlot(parts, k, self._sure, self._room)

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """The best amplifier of each signature with what no system on it exceeds."""
        return highest([both(own, system) for _, own, system in self._tops(multipliers, AloneSlot.rough)])

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """The same, of amplifiers without what comes along with them."""
        return highest([both(own, system) for _, own, system in self._tops(multipliers, AloneSlot.bare)])

    def tell(self, need: Values, needs: Needs) -> None:
        """Of each amplifier what the best system on it leaves to bring."""
        for (alone, _), _, system in self._tops(MULTIPLIERS, AloneSlot.bare):
            alone.tell(less(need, system[0]), needs)

    def made(self, need: Values) -> Sequence[Entry]:
        """Every amplifier with every system, as far as both together bring so much."""
        made: list[Entry] = []
        for (alone, systems), own, system in self._tops(MULTIPLIERS, AloneSlot.rough):
            if not all(map(ge, add_uses(own[0], system[0]), need)):
                continue
            some = systems.worth(less(need, own[0]))
            made += [
                _together(amplifier, one)
                for amplifier in alone.worth(less(need, system[0]))
                for one in some
                if brings(amplifier.points + one.points, amplifier.cents + one.cents, need)
            ]
        return undominated(made, self._table.side.k)

    def _tops(
        self, multipliers: Sequence[int], measure: Callable[[AloneSlot, Sequence[int]], Greatest | None]
    ) -> Iterator[tuple[tuple[AloneSlot, SystemSlot], Greatest, Greatest]]:
        for pair in self._pairs:
            own, system = measure(pair[0], multipliers), pair[1].rough(multipliers)
            if own is not None and system is not None:
                yield pair, own, system


def _together(amplifier: Entry, system: Entry) -> Entry:
    (fitted,) = amplifier.what
    own = replace(fitted, candidate=replace(fitted.candidate, slot="bass_amplifier"))
    return Entry(
        amplifier.points + system.points,
        amplifier.cents + system.cents,
        add_uses(amplifier.uses, system.uses),
        (*system.name[:-1], "".join(amplifier.name)),
        (*system.what, own),
    )
