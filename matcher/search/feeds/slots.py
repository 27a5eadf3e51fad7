"""Slots of a core: candidates as entries of points, money and use."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from operator import ge
from typing import TYPE_CHECKING

from matcher.search.exact.entries import (
    MULTIPLIERS,
    Entry,
    Greatest,
    Slot,
    Values,
    add_uses,
    brings,
    least_of,
    less,
    undominated,
)
from matcher.search.feeds.groups import group_top
from matcher.search.feeds.links import Coils, Link
from matcher.search.feeds.parts import NO_USE, Candidate, alike, bare
from matcher.search.feeds.plans import Feed

if TYPE_CHECKING:
    from matcher.search.bass.figures import BassSystem
    from matcher.search.fits.looks import Needs


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


def highest(tops: list[Greatest]) -> Greatest | None:
    """The greatest of several bounds: of values the greatest, of money and uses the least."""
    if not tops:
        return None
    values = tuple(map(max, zip(*(top[0] for top in tops), strict=True)))
    return values, min(top[1] for top in tops), least_of(top[2] for top in tops)


def both(one: Greatest, other: Greatest) -> Greatest:
    """The bounds of two together."""
    return add_uses(one[0], other[0]), one[1] + other[1], add_uses(one[2], other[2])


def both_or_none(one: Greatest | None, other: Greatest | None) -> Greatest | None:
    """The same; none where either has none."""
    return None if one is None or other is None else both(one, other)


class AloneSlot(Slot):
    """Parts that no link concerns: head units or amplifiers of one signature."""

    def __init__(self, candidates: Sequence[Candidate], k: int, sure: bool) -> None:
        self._candidates = [one for one in candidates if not (sure and one.is_open)]
        self._k = k
        self._tops: dict[tuple[Sequence[int], bool], Greatest | None] = {}

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """The same tops, before anything is left out."""
        key = (multipliers, False)
        if key not in self._tops:
            top = group_top(self._candidates, multipliers)
            least = None if top is None else least_of(map(self._uses, self._candidates))
            self._tops[key] = None if top is None or least is None else (top.values, top.cents, least)
        return self._tops[key]

    def tell(self, need: tuple[int, ...], needs: Needs) -> None:
        """The same of each: they are one to whatever is asked."""
        for one in self._candidates[:1]:
            needs.take(one.slot, alike(one.signature), need)

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """The tops of the parts without what comes along with them."""
        key = (multipliers, True)
        if key not in self._tops:
            top = group_top([bare(one) for one in self._candidates], multipliers)
            self._tops[key] = None if top is None else (top.values, top.cents, NO_USE)
        return self._tops[key]

    def made(self, need: Values) -> Sequence[Entry]:
        """One part may have several spots: they make no packages of their own."""
        some = (one for one in self._candidates if brings(one.total_points, one.cents, need))
        return undominated(best_by_name(map(self._made, some)), self._k)

    def _uses(self, one: Candidate) -> tuple[int, ...]:
        return one.uses

    def _made(self, one: Candidate) -> Entry:
        return entry_of((Fitted(one, unsure=one.unsure),))


class RoomSlot(AloneSlot):
    """Amplifiers of one signature on a spot that they share with another one, each with the room that it takes."""

    def __init__(self, candidates: Sequence[Candidate], k: int, sure: bool, room: Mapping[str, int]) -> None:
        super().__init__([one for one in candidates if one.part_id in room], k, sure)
        self._room = room

    def _uses(self, one: Candidate) -> tuple[int, ...]:
        return (*one.uses[:-1], self._room[str(one.part_id)])

    def _made(self, one: Candidate) -> Entry:
        return replace(super()._made(one), uses=self._uses(one))


class AidedSlot(Slot):
    """Head units of one signature, each with one of some accessories, whichever: they are listed only where needed."""

    def __init__(self, heads: Slot, aids: Slot, k: int) -> None:
        self._heads, self._aids, self._k = heads, aids, k

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """The tops of both together."""
        return both_or_none(self._heads.rough(multipliers), self._aids.rough(multipliers))

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """The same, whatever they take."""
        return both_or_none(self._heads.bare(multipliers), self._aids.bare(multipliers))

    def tell(self, need: Values, needs: Needs) -> None:
        """Of the head units what the accessories leave to bring."""
        aids = self._aids.bare(MULTIPLIERS)
        if aids is not None:
            self._heads.tell(less(need, aids[0]), needs)

    def made(self, need: Values) -> Sequence[Entry]:
        """Each head unit with each accessory."""
        heads, aids = self._heads.rough(MULTIPLIERS), self._aids.rough(MULTIPLIERS)
        if heads is None or aids is None:
            return ()
        ones, others = self._heads.worth(less(need, aids[0])), self._aids.worth(less(need, heads[0]))
        pairs = product((_alone(one) for one in ones), (_alone(one) for one in others))
        some = (replace(head, along=(*head.along, aid)) for head, aid in pairs)
        made = (entry_of((Fitted(one, unsure=one.unsure),)) for one in some)
        return undominated((one for one in made if brings(one.points, one.cents, need)), self._k)


def _alone(entry: Entry) -> Candidate:
    """The candidate of an entry that holds no other."""
    candidate: Candidate = entry.what[0].candidate
    return candidate


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

    def made(self, need: Values) -> Sequence[Entry]:
        """Those of each of them that may bring so much."""
        tops = ((slot, slot.rough(MULTIPLIERS)) for slot in self._slots)
        able = (slot for slot, top in tops if top is not None and all(map(ge, top[0], need)))
        return sorted((entry for slot in able for entry in slot.worth(need)), key=lambda entry: entry.order)


Alternative = tuple[Candidate, ...]
"""One way to fill a slot that takes several parts together, or none."""


class ChoiceSlot(Slot):
    """Parts that stand beside the sound system: each alternative is a set of them."""

    def __init__(self, alternatives: Sequence[Alternative], k: int, sure: bool) -> None:
        self._alternatives = [some for some in alternatives if not (sure and any(one.is_open for one in some))]
        self._k = k

    def made(self, need: Values) -> Sequence[Entry]:
        """Each alternative as an entry."""
        every = map(self._entry, self._alternatives)
        return undominated((one for one in every if brings(one.points, one.cents, need)), self._k)

    def _entry(self, some: Alternative) -> Entry:
        return Entry(
            points=sum(one.total_points for one in some),
            cents=sum(one.cents for one in some),
            uses=tuple(map(sum, zip(NO_USE, *(one.uses for one in some), strict=True))),
            # The sign between them stands before any that a part's number holds: as lists they compare the same.
            name=("\x1f".join(str(one.part_id) for one in some), ""),
            what=tuple(Fitted(one, unsure=one.unsure) for one in some),
        )


def entry_of(fitted: tuple[Fitted, ...]) -> Entry:
    """What some parts together bring to a package."""
    return Entry(
        points=sum(one.candidate.total_points + sum(value for _, value in one.link_points) for one in fitted),
        cents=sum(one.candidate.cents for one in fitted),
        uses=tuple(map(sum, zip(*(one.candidate.uses for one in fitted), strict=True))),
        name=tuple(word for one in fitted for word in one.candidate.name),
        what=fitted,
    )


def unsure_parts(entry: Entry) -> int:
    """How many of an entry's parts are unsure."""
    return sum(one.unsure for one in entry.what)


def best_by_name(entries: Iterable[Entry], unsure: Callable[[Entry], int] = unsure_parts) -> list[Entry]:
    """Of one part's nets, spots or feeds only the one with most points; of equal ones the surer, then the first."""
    kept: dict[tuple[str, ...], Entry] = {}
    for entry in entries:
        held = kept.get(entry.name)
        if held is None or (entry.points, -unsure(entry)) > (held.points, -unsure(held)):
            kept[entry.name] = entry
    return list(kept.values())
