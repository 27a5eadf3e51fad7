"""Slots of a core: lists of entries, made only when a core is looked into.

Loudspeakers are grouped by signature, and within a group only those that can stand in one of the
k best packages on any feed are kept; what the rules say of a link is asked once for a group.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from matcher.rules.rule import FITS, NO
from matcher.search.links import Coils, Link, SourceSignature, link_of
from matcher.search.looks import less
from matcher.search.parts import NO_USE, Candidate, SpeakerSignature, alike, bare
from matcher.search.plans import Feed
from matcher.search.ranking import MULTIPLIERS, SCALE, Entry, Greatest, Slot, add_uses, least_of, undominated
from matcher.search.scoring import Scoring, gain_cdb

if TYPE_CHECKING:
    from matcher.search.bass import BassSystem
    from matcher.search.cores import Field
    from matcher.search.looks import Needs


@dataclass(frozen=True, slots=True)
class Fitted:
    """A candidate in a package, with how it is fed where it is a loudspeaker."""

    candidate: Candidate
    feed: Feed | None = None
    coils: Coils | None = None
    link: Link | None = None
    unsure: bool = False
    link_points: tuple[tuple[str, int], ...] = ()
    bass: BassSystem | None = None
    """The system that it belongs to, where it is a bass driver or its box."""

    @property
    def points(self) -> tuple[tuple[str, int], ...]:
        """All its points, by criterion."""
        return (*self.candidate.points, *self.link_points)


def level_cdb(one: Candidate, link: Link) -> int | None:
    """Level at 1 m that a loudspeaker reaches on its feed, in hundredths of a decibel.

    It takes no more than its rating, however strong the amplifier.
    """
    gain = link_gain_cdb(link)
    return None if one.level_cdb is None or gain is None else one.level_cdb + gain


def link_gain_cdb(link: Link) -> int | None:
    """What the feed's power adds to the level at 1 W, in hundredths of a decibel."""
    if link.power_w is None or link.power_w <= 0:
        return None
    rated = link.rms_w
    return gain_cdb(link.power_w if rated is None or not rated else min(link.power_w, rated))


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


def group_top(members: Sequence[Candidate], multipliers: Sequence[int]) -> GroupTop | None:
    """The tops of a group; None where it has no member."""
    if not members:
        return None
    sums = [(SCALE * one.total_points, one.cents) for one in members]
    return GroupTop(
        tuple(max(points - times * cents for points, cents in sums) for times in multipliers),
        max((one.level_cdb for one in members if one.level_cdb is not None), default=None),
        min(cents for _, cents in sums),
    )


def highest(tops: list[Greatest]) -> Greatest | None:
    """The greatest of several bounds: of values the greatest, of money and uses the least."""
    if not tops:
        return None
    values = tuple(map(max, zip(*(top[0] for top in tops), strict=True)))
    return values, min(top[1] for top in tops), tuple(map(min, zip(*(top[2] for top in tops), strict=True)))


class AloneSlot(Slot):
    """Parts that no link concerns: head units or amplifiers of one signature."""

    def __init__(self, candidates: Sequence[Candidate], k: int, sure: bool) -> None:
        self._candidates = [one for one in candidates if not (sure and one.is_open)]
        self._k = k
        self._tops: dict[Sequence[int], Greatest | None] = {}

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """The same tops, before anything is left out."""
        if multipliers not in self._tops:
            top = group_top(self._candidates, multipliers)
            least = None if top is None else least_of(map(self._uses, self._candidates))
            self._tops[multipliers] = None if top is None or least is None else (top.values, top.cents, least)
        return self._tops[multipliers]

    def tell(self, need: tuple[int, ...], needs: Needs) -> None:
        """The same of each: they are one to whatever is asked."""
        for one in self._candidates[:1]:
            needs.take(one.slot, alike(one.signature), need)

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """The tops of the parts without what comes along with them."""
        top = group_top([bare(one) for one in self._candidates], multipliers)
        return None if top is None else (top.values, top.cents, NO_USE)

    @cached_property
    def entries(self) -> Sequence[Entry]:
        """One part may have several spots: they make no packages of their own."""
        return undominated(_best_by_name(map(self._made, self._candidates)), self._k)

    def _uses(self, one: Candidate) -> tuple[int, ...]:
        return one.uses

    def _made(self, one: Candidate) -> Entry:
        return _entry((Fitted(one, unsure=one.unsure),))


class RoomSlot(AloneSlot):
    """Amplifiers of one signature on a spot that they share with another one, each with the room that it takes."""

    def __init__(self, candidates: Sequence[Candidate], k: int, sure: bool, room: Mapping[str, int]) -> None:
        super().__init__([one for one in candidates if one.part_id in room], k, sure)
        self._room = room

    def _uses(self, one: Candidate) -> tuple[int, ...]:
        return (*one.uses[:-1], self._room[str(one.part_id)])

    def _made(self, one: Candidate) -> Entry:
        return replace(super()._made(one), uses=self._uses(one))


class AnySlot(Slot):
    """One of several slots, whichever; none has a name that another one has."""

    def __init__(self, slots: Sequence[Slot]) -> None:
        self._slots = slots

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """The greatest of them."""
        return highest([top for slot in self._slots if (top := slot.rough(multipliers)) is not None])

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """The greatest of them."""
        return highest([top for slot in self._slots if (top := slot.bare(multipliers)) is not None])

    def tell(self, need: tuple[int, ...], needs: Needs) -> None:
        """The same of each of them."""
        for slot in self._slots:
            slot.tell(need, needs)

    @cached_property
    def entries(self) -> Sequence[Entry]:
        return sorted((entry for slot in self._slots for entry in slot.entries), key=lambda entry: entry.order)


Alternative = tuple[Candidate, ...]
"""One way to fill a slot that takes several parts together, or none."""


class ChoiceSlot(Slot):
    """Parts that stand beside the sound system: each alternative is a set of them."""

    def __init__(self, alternatives: Sequence[Alternative], k: int, sure: bool) -> None:
        self._alternatives = [some for some in alternatives if not (sure and any(one.is_open for one in some))]
        self._k = k

    @cached_property
    def entries(self) -> Sequence[Entry]:
        return undominated(map(self._entry, self._alternatives), self._k)

    def _entry(self, some: Alternative) -> Entry:
        return Entry(
            points=sum(one.total_points for one in some),
            cents=sum(one.cents for one in some),
            uses=tuple(map(sum, zip(NO_USE, *(one.uses for one in some), strict=True))),
            # The sign between them stands before any that a part's number holds: as lists they compare the same.
            name=("\x1f".join(str(one.part_id) for one in some), ""),
            what=tuple(Fitted(one, unsure=one.unsure) for one in some),
        )


SharedTops = tuple[Decimal | None, Decimal | None, Greatest, Greatest]
"""The loads of two places on one block, and what each place can add at most."""


class FedNet(NamedTuple):
    """A group of loudspeakers, by its position, in one net on a block: what the rules say of it, and what it earns."""

    group: int
    coils: Coils
    link: Link
    code: int
    gain_cdb: int | None
    """What the power adds to the level at 1 W; none where that is not known."""
    aim: int
    """Points for power within the aim."""

    def earned(self, level_cdb: int | None, scoring: Scoring) -> int:
        """Points of a loudspeaker by its level at 1 W."""
        known = level_cdb is not None and self.gain_cdb is not None
        return (scoring.level(level_cdb + self.gain_cdb) if known else 0) + self.aim  # type: ignore[operator]


class FedSlot(Slot):
    """The loudspeakers of one feed on a source of one signature: one place, or two that share."""

    def __init__(self, field: Field, feed: Feed, source: SourceSignature, sure: bool) -> None:
        self._field, self._feed, self._source, self._sure = field, feed, source, sure
        self._read: dict[tuple[int, Decimal | None, Decimal | None], list[FedNet]] = {}

    @cached_property
    def entries(self) -> Sequence[Entry]:
        """Of two places on one block: for every pair of loads, the best of both."""
        if len(self._feed.openings) == 1:
            return undominated(_best_by_name(self._side(0, None, None)), self._field.k)
        made: list[Entry] = []
        for first, second in self._sides():
            made += [_entry((*a.what, *b.what)) for a in first for b in second]
        return undominated(_best_by_name(made), self._field.k)

    def greatest(self, multipliers: Sequence[int]) -> Greatest | None:
        """For two places a bound that never lists their pairs."""
        if len(self._feed.openings) == 1:
            return super().greatest(multipliers)
        best: list[int] | None = None
        least = 0
        for first, second in self._sides():
            values = [_greatest(first, times) + _greatest(second, times) for times in multipliers]
            money = min(entry.cents for entry in first) + min(entry.cents for entry in second)
            least = money if best is None else min(least, money)
            best = values if best is None else [max(pair) for pair in zip(best, values, strict=True)]
        return None if best is None else (tuple(best), least, NO_USE)

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """For each group and net: its greatest value alone and its greatest level, taken together."""
        if len(self._feed.openings) == 1:
            return self._top(0, None, None, multipliers)
        tops = [(one, other) for *_, one, other in self._shared_tops(multipliers)]
        return highest([(add_uses(one[0], other[0]), one[1] + other[1], NO_USE) for one, other in tops])

    def _shared_tops(self, multipliers: Sequence[int]) -> Iterator[SharedTops]:
        """For every pair of loads that two places may put on one block, what each place can add at most."""
        first, second = self._feed.openings
        for first_ohm in self._field.loads(first, self._feed):
            for second_ohm in self._field.loads(second, self._feed):
                one = self._top(0, first_ohm, second_ohm, multipliers)
                other = None if one is None else self._top(1, second_ohm, first_ohm, multipliers)
                if one is not None and other is not None:
                    yield first_ohm, second_ohm, one, other

    def tell(self, need: tuple[int, ...], needs: Needs) -> None:
        """Of each group what is left to bring by itself, on the feed that gives it most."""
        if len(self._feed.openings) == 1:
            self._tell(0, None, None, need, needs)
            return
        for first_ohm, second_ohm, one, other in self._shared_tops(MULTIPLIERS[: len(need)]):
            self._tell(0, first_ohm, second_ohm, less(need, other[0]), needs)
            self._tell(1, second_ohm, first_ohm, less(need, one[0]), needs)

    def _tell(
        self, side: int, own: Decimal | None, beside: Decimal | None, need: tuple[int, ...], needs: Needs
    ) -> None:
        opening_id = self._feed.openings[side]
        groups, tops = self._field.groups[opening_id], self._field.tops(opening_id, MULTIPLIERS, self._sure)
        for net in self._nets(side, own, beside):
            top = tops[net.group]
            if top is None:
                continue
            told = alike(groups[net.group][0])
            needs.take(opening_id, told, [value - SCALE * net.aim for value in need])
            if net.gain_cdb is not None and top.loudest_cdb is not None:
                lift = SCALE * net.earned(top.loudest_cdb, self._field.scoring)
                needs.take(opening_id, told, [value - lift for value in need], top.loudest_cdb)

    def _top(
        self, side: int, own: Decimal | None, beside: Decimal | None, multipliers: Sequence[int]
    ) -> Greatest | None:
        """What one place can add at most, at its own load if one is given."""
        tops = self._field.tops(self._feed.openings[side], tuple(multipliers), self._sure)
        found = []
        for net in self._nets(side, own, beside):
            top = tops[net.group]
            if top is not None:
                lift = SCALE * net.earned(top.loudest_cdb, self._field.scoring)
                found.append((tuple(value + lift for value in top.values), top.cents, NO_USE))
        return highest(found)

    def _sides(self) -> Iterator[tuple[list[Entry], list[Entry]]]:
        """For every pair of loads that two places may put on one block: the entries of each."""
        first, second = self._feed.openings
        seconds = self._field.loads(second, self._feed)
        for first_ohm in self._field.loads(first, self._feed):
            for second_ohm in seconds:
                ones = self._pruned(0, first_ohm, second_ohm)
                others = self._pruned(1, second_ohm, first_ohm) if ones else []
                if others:
                    yield ones, others

    def _pruned(self, side: int, own: Decimal | None, beside: Decimal | None) -> list[Entry]:
        return undominated(_best_by_name(self._side(side, own, beside)), self._field.k)

    def _side(self, side: int, own: Decimal | None, beside: Decimal | None) -> Iterator[Entry]:
        """One place's loudspeakers in each net that the rules allow, at its own load if one is given."""
        groups = self._field.groups[self._feed.openings[side]]
        for net in self._nets(side, own, beside):
            yield from self._group_entries(groups[net.group][1], net)

    def _nets(self, side: int, own: Decimal | None, beside: Decimal | None) -> list[FedNet]:
        """Each group of a place in each net that the rules allow on this block, read once."""
        key = (side, own, beside)
        if key not in self._read:
            self._read[key] = list(self._allowed(*key))
        return self._read[key]

    def _allowed(self, side: int, own: Decimal | None, beside: Decimal | None) -> Iterator[FedNet]:
        wired = self._field.wired(self._feed.openings[side], self._feed)
        lists = [wired[own]] if len(self._feed.openings) == 2 else wired.values()
        for position, signature, coils in (each for some in lists for each in some):
            link = link_of(self._source, self._feed.mode, coils, signature, beside)
            code = self._field.codes[link]
            if code != NO and not (self._sure and code != FITS):
                aim = self._field.scoring.aim(link.power_w, link.rms_w)
                yield FedNet(position, coils, link, code, link_gain_cdb(link), aim)

    def _group_entries(self, group: list[Candidate], net: FedNet) -> Iterator[Entry]:
        scoring, unsure = self._field.scoring, net.code != FITS
        doubt = scoring.unknown(unsure)
        for one in group:
            if self._sure and one.unsure:
                continue
            known = 0 if one.unsure else doubt
            points = (("loudness", net.earned(one.level_cdb, scoring)), ("known", known))
            yield _entry((Fitted(one, self._feed, net.coils, net.link, one.unsure or unsure, points),))


def _greatest(entries: list[Entry], times: int) -> int:
    return max(SCALE * entry.points - times * entry.cents for entry in entries)


def _entry(fitted: tuple[Fitted, ...]) -> Entry:
    return Entry(
        points=sum(one.candidate.total_points + sum(value for _, value in one.link_points) for one in fitted),
        cents=sum(one.candidate.cents for one in fitted),
        uses=tuple(map(sum, zip(*(one.candidate.uses for one in fitted), strict=True))),
        name=tuple(word for one in fitted for word in one.candidate.name),
        what=fitted,
    )


def _best_by_name(entries: Iterable[Entry]) -> list[Entry]:
    """Of one part's nets or spots only the one with most points; of equal ones the surer, then the first."""
    kept: dict[tuple[str, ...], Entry] = {}
    for entry in entries:
        held = kept.get(entry.name)
        if held is None or _preference(entry) > _preference(held):
            kept[entry.name] = entry
    return list(kept.values())


def _preference(entry: Entry) -> tuple[int, int]:
    return (entry.points, -sum(one.unsure for one in entry.what))
