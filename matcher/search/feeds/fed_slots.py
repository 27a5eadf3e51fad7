"""The slot of a feed: loudspeakers by what a feed sees of them, in every net that the rules allow on its block."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from operator import ge
from typing import TYPE_CHECKING, NamedTuple

from matcher.rules.rule import FITS, NO
from matcher.search.exact.entries import (
    MULTIPLIERS,
    SCALE,
    WHATEVER,
    Entry,
    Greatest,
    Slot,
    Values,
    add_uses,
    brings,
    greatest_of,
    less,
    undominated,
    widened,
)
from matcher.search.feeds.links import Coils, Link, SourceSignature, link_of
from matcher.search.feeds.parts import NO_USE, Candidate, SpeakerSignature, alike
from matcher.search.feeds.plans import Feed
from matcher.search.feeds.slots import Fitted, GroupTop, best_by_name, entry_of, highest
from matcher.search.scoring import Scoring, gain_cdb

if TYPE_CHECKING:
    from matcher.search.cores import Field
    from matcher.search.fits.looks import Needs


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
    # In an order of their own, whichever candidates there are: what is read of them then serves other fields too.
    ordered = sorted(by_signature.items(), key=lambda item: repr(item[0]))
    return [(signature, _unbeaten(group, k, doubt)) for signature, group in ordered]


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


SharedTops = tuple[Decimal | None, Decimal | None, Greatest, Greatest]
"""The loads of two places on one block, and what each place can add at most."""
Sides = tuple[list[Entry], list[Entry]]
"""The entries of two places at one pair of loads."""


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
    """The loudspeakers of one feed on a source of one signature, at one place."""

    def __init__(self, field: Field, feed: Feed, source: SourceSignature, sure: bool) -> None:
        self._field, self._feed, self._source, self._sure = field, feed, source, sure
        self._read: dict[tuple[int, Decimal | None, Decimal | None], list[FedNet]] = {}

    def made(self, need: Values) -> Sequence[Entry]:
        """The best of every group in every net."""
        return self._side(0, None, None, need)

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """For each group and net: its greatest value alone and its greatest level, taken together."""
        return self._top(0, None, None, multipliers)

    def tell(self, need: Values, needs: Needs) -> None:
        """Of each group what is left to bring by itself, on the feed that gives it most."""
        self._tell(0, None, None, need, needs)

    def _tell(self, side: int, own: Decimal | None, beside: Decimal | None, need: Values, needs: Needs) -> None:
        opening_id = self._feed.openings[side]
        groups = self._field.groups[opening_id]
        for net, top in self._tops(side, own, beside, MULTIPLIERS):
            told = alike(groups[net.group][0])
            needs.take(opening_id, told, [value - SCALE * net.aim for value in need])
            if net.gain_cdb is not None and top.loudest_cdb is not None:
                lift = SCALE * net.earned(top.loudest_cdb, self._field.scoring)
                needs.take(opening_id, told, [value - lift for value in need], top.loudest_cdb)

    def _top(
        self, side: int, own: Decimal | None, beside: Decimal | None, multipliers: Sequence[int]
    ) -> Greatest | None:
        """What one place can add at most, at its own load if one is given."""
        tops = self._tops(side, own, beside, multipliers)
        return highest([(self._values(net, top), top.cents, NO_USE) for net, top in tops])

    def _values(self, net: FedNet, top: GroupTop) -> Values:
        """What a group brings at most in a net."""
        lift = SCALE * net.earned(top.loudest_cdb, self._field.scoring)
        return tuple(value + lift for value in top.values)

    def _side(self, side: int, own: Decimal | None, beside: Decimal | None, need: Values) -> list[Entry]:
        """One place's loudspeakers in each net that the rules allow, at its own load if one is given."""
        groups = self._field.groups[self._feed.openings[side]]
        made = (
            entry
            for net, top in self._tops(side, own, beside, MULTIPLIERS)
            if all(map(ge, self._values(net, top), need))
            for entry in self._group_entries(groups[net.group][1], net, need)
        )
        return undominated(best_by_name(made), self._field.k)

    def _tops(
        self, side: int, own: Decimal | None, beside: Decimal | None, multipliers: Sequence[int]
    ) -> Iterator[tuple[FedNet, GroupTop]]:
        """Each group of a place in each net, with what it has at most; none that has no member."""
        tops = self._field.tops(self._feed.openings[side], tuple(multipliers), self._sure)
        pairs = ((net, tops[net.group]) for net in self._nets(side, own, beside))
        return ((net, top) for net, top in pairs if top is not None)

    def _nets(self, side: int, own: Decimal | None, beside: Decimal | None) -> list[FedNet]:
        """Each group of a place in each net that the rules allow on this block, read once."""
        key = (side, own, beside)
        if key not in self._read:
            asked = ("nets", self._field.wiring, self._feed, self._source, self._sure, key)
            self._read[key] = self._field.once(asked, lambda: list(self._allowed(*key)))
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

    def _group_entries(self, group: list[Candidate], net: FedNet, need: Values) -> Iterator[Entry]:
        scoring, unsure = self._field.scoring, net.code != FITS
        doubt = scoring.unknown(unsure)
        for one in group:
            if self._sure and one.unsure:
                continue
            known, earned = 0 if one.unsure else doubt, net.earned(one.level_cdb, scoring)
            if brings(one.total_points + known + earned, one.cents, need):
                points = (("loudness", earned), ("known", known))
                yield entry_of((Fitted(one, self._feed, net.coils, net.link, one.unsure or unsure, points),))


class SharedSlot(FedSlot):
    """The loudspeakers of two places that share one block: for every pair of loads, the best of both."""

    _sides_need: Values | None = None
    _sides: Sequence[Sides] = ()

    def made(self, need: Values) -> Sequence[Entry]:
        """Every pair of a pair of loads."""
        made: list[Entry] = []
        for first, second in self._both(need):
            pairs = ((a, b) for a in first for b in second if brings(a.points + b.points, a.cents + b.cents, need))
            made += [entry_of((*a.what, *b.what)) for a, b in pairs]
        return undominated(best_by_name(made), self._field.k)

    def greatest(self, multipliers: Sequence[int], need: Values = WHATEVER) -> Greatest | None:
        """A bound that never lists the pairs."""
        tops = [tuple(greatest_of(side, multipliers) for side in sides) for sides in self._both(need)]
        return highest([_together(one, other) for one, other in tops if one is not None and other is not None])

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """What each place can add at most, taken together."""
        return highest([_together(one, other) for *_, one, other in self._shared_tops(multipliers)])

    def tell(self, need: Values, needs: Needs) -> None:
        """Of each place what the other one leaves to bring."""
        for first_ohm, second_ohm, one, other in self._shared_tops(MULTIPLIERS):
            self._tell(0, first_ohm, second_ohm, less(need, other[0]), needs)
            self._tell(1, second_ohm, first_ohm, less(need, one[0]), needs)

    def _shared_tops(self, multipliers: Sequence[int]) -> Iterator[SharedTops]:
        """For every pair of loads that two places may put on one block, what each place can add at most."""
        first, second = self._feed.openings
        for first_ohm in self._field.loads(first, self._feed):
            for second_ohm in self._field.loads(second, self._feed):
                one = self._top(0, first_ohm, second_ohm, multipliers)
                other = None if one is None else self._top(1, second_ohm, first_ohm, multipliers)
                if one is not None and other is not None:
                    yield first_ohm, second_ohm, one, other

    def _both(self, need: Values) -> Sequence[Sides]:
        """For every pair of loads the entries of each place, as far as both together bring so much."""
        if (wider := widened(self._sides_need, need)) is not None:
            self._sides_need, self._sides = wider, list(self._every_pair(wider))
        return self._sides

    def _every_pair(self, need: Values) -> Iterator[Sides]:
        for first_ohm, second_ohm, one, other in self._shared_tops(MULTIPLIERS):
            if all(map(ge, add_uses(one[0], other[0]), need)):
                ones = self._side(0, first_ohm, second_ohm, less(need, other[0]))
                others = self._side(1, second_ohm, first_ohm, less(need, one[0])) if ones else []
                if others:
                    yield ones, others


def _together(one: Greatest, other: Greatest) -> Greatest:
    """What two places on one block have at most."""
    return add_uses(one[0], other[0]), one[1] + other[1], NO_USE
