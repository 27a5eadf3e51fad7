"""Cores of a job that asks for bass: every plan with every amplifier and every block of it, or of one beside it.

Every plan takes an amplifier then: that of the loudspeakers, or one that drives the bass alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, NamedTuple

from matcher.rules.rule import FITS
from matcher.search.bass.blocks import bass_links, blocks_of
from matcher.search.bass.side import BassSide
from matcher.search.bass.slots import BassTable as BassTable
from matcher.search.bass.slots import OwnBass
from matcher.search.candidates.boards import sharing
from matcher.search.exact.entries import Slot
from matcher.search.exact.kept import Kept
from matcher.search.exact.packages import Core
from matcher.search.feeds.links import Link, inputs_of
from matcher.search.feeds.parts import (
    AmplifierSignature,
    Candidate,
    HeadSignature,
    amplifier_signature,
    amplifiers_alike,
    fed_by,
)
from matcher.search.feeds.plans import BASS_MODES, Plan
from matcher.search.feeds.slots import AloneSlot, AnySlot, RoomSlot
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.cores import Field
    from matcher.search.rooms import Rooms

Alike = list[Candidate]
"""Amplifiers that are one to whatever is asked."""


SomeAlike = dict[AmplifierSignature, Alike]
"""By signature: amplifiers that are one to the loudspeakers of a plan."""


class Under(NamedTuple):
    """What some cores are made under: a field, a plan with its rank, and whether nothing may be left to measure."""

    whole: Field
    rank: int
    plan: Plan
    sure: bool

    def cores(
        self,
        amplifiers: tuple[AmplifierSignature, AmplifierSignature | None],
        slots: tuple[Slot, Slot],
        wanted: HeadSignature | None,
    ) -> Iterator[Core]:
        """The cores with an amplifier, with one for the bass alone if there is any, and with a block of a head unit."""
        amp, own = amplifiers
        for (block, code), head_slot in self.whole.head_side.slots(self.plan, amp, self.sure, own).items():
            if block == wanted:
                yield self.whole.core(self.rank, self.plan, (block, amp, code), (head_slot, *slots), self.sure)

    def bundle(
        self,
        amp: AmplifierSignature,
        slots: tuple[Slot, Slot],
        block: HeadSignature | None,
        inside: Callable[[], Iterator[Core]],
    ) -> Core:
        """A bundle of cores with an amplifier and a block, whatever the line level."""
        heads = self.whole.head_side.any_heads(self.plan, self.sure)[block]
        # One with an accessory costs no less than by itself, draws no less, and earns at most this more.
        most = 0 if self.whole.aids is None else self.whole.aids.most_points
        core = self.whole.core(self.rank, self.plan, (block, amp, FITS), (heads, *slots), self.sure)
        return replace(core, points=most, inside=inside)


@dataclass
class BassCores:
    """The bass side of a job's field."""

    side: BassSide
    amplifiers: Sequence[Candidate]
    table: BassTable
    rooms: Rooms | None = None
    """The spots that two amplifiers may share; none: each has its own."""
    _made: Kept = field(default_factory=Kept)

    def ways(self, plan: Plan, on_spots: Sequence[int]) -> int:
        """Choices of amplifiers for a plan, each with every bass system in every net on every block for it."""
        count = sum(on_spots)
        apart = count * count - sum(here * here for here in on_spots)
        pairs = apart if self.rooms is None else count * count
        return (count + (pairs if plan.amplified else 0)) * len(BASS_MODES) * self.side.ways

    def links(self) -> Iterator[Link]:
        """Every link of a bass system with an amplifier."""
        for blocks in dict.fromkeys(blocks_of(signature, 0) for signature in self._alike):
            yield from bass_links(self.side, blocks)

    def whole(self, whole: Field, rank: int, plan: Plan, *, sure: bool) -> Core:
        """All bundles of a plan as one."""
        key = ("any", plan.channels("amplifier"), plan.amplified, sure)
        slots = self._made.once(key, self._any_at_all, plan, sure)
        return whole.whole(rank, plan, slots, partial(self.of, whole, rank, plan, sure=sure), sure)

    def _any_at_all(self, plan: Plan, sure: bool) -> tuple[Slot, Slot]:
        """Any amplifier, and bass on any of them, or with any beside one."""
        shared = self._any_shared(plan, self._alike, sure)
        own = self._any_own(self._alike, sure) if plan.amplified else ()
        amplifiers, bass = zip(shared, own, strict=True) if own else ((each,) for each in shared)
        return AnySlot(amplifiers), AnySlot(bass)

    def of(self, whole: Field, rank: int, plan: Plan, *, sure: bool) -> Iterator[Core]:
        """Every core of a plan, bundled where what feeds its loudspeakers is one to them, whatever drives the bass."""
        modes, taken = plan.modes("amplifier"), plan.channels("amplifier")
        for fed, some in self._made.once(("fed", modes), self._by_feed, plan).items():
            slots = self._made.once(("shared", modes, fed, taken, sure), self._any_shared, plan, some, sure)
            inside = partial(self._shared, Under(whole, rank, plan, sure), some)
            yield from whole.bundles(rank, plan, fed, slots, inside, sure)
            if plan.amplified:
                slots = self._made.once(("beside", modes, fed, sure), self._any_own, some, sure)
                inside = partial(self._own, Under(whole, rank, plan, sure), some)
                yield from whole.bundles(rank, plan, fed, slots, inside, sure)

    def _by_feed(self, plan: Plan) -> dict[AmplifierSignature, SomeAlike]:
        """The amplifiers by signature, by what they are to the loudspeakers of a plan."""
        found: dict[AmplifierSignature, SomeAlike] = {}
        for amp, parts in self._alike.items():
            found.setdefault(fed_by(amp, plan.modes("amplifier")), {})[amp] = parts
        return found

    @cached_property
    def _alike(self) -> dict[AmplifierSignature, Alike]:
        return amplifiers_alike(self.amplifiers)

    def _any_shared(self, plan: Plan, some: SomeAlike, sure: bool) -> tuple[Slot, Slot]:
        """Any of some amplifiers, and bass on any of them."""
        k = self.table.side.k
        blocks = {amp: made for amp in some if (made := blocks_of(amp, plan.channels("amplifier"))).modes}
        slots = [self._made.once((amp, sure), AloneSlot, some[amp], k, sure) for amp in blocks]
        bass = [self.table.slot("amplifier", each, sure) for each in dict.fromkeys(blocks.values())]
        return AnySlot(slots), AnySlot(bass)

    def _any_own(self, some: SomeAlike, sure: bool) -> tuple[Slot, Slot]:
        """Any of some amplifiers, with any that drives bass alone, both without their boards.

        No pair exceeds them: on a spot that two share both take no less room, and a board costs no less than none.
        """
        quiet = [self._made.once(("quiet", amp, sure), self._quiet, parts, sure) for amp, parts in some.items()]
        others = self._made.once("bare", lambda: [sharing(one, None) for one in self.amplifiers])
        return AnySlot(quiet), self._made.once(("any own", sure), OwnBass, self.table, others, sure)

    def _quiet(self, parts: Alike, sure: bool) -> Slot:
        """Amplifiers that are one to whatever is asked, where another one plays the bass, without their boards."""
        return AloneSlot([sharing(one.quiet or one, None) for one in parts], self.table.side.k, sure)

    def _shared(self, under: Under, some: SomeAlike, block: HeadSignature | None) -> Iterator[Core]:
        """Every core in which the amplifier of the loudspeakers drives the bass."""
        for amp, parts in some.items():
            blocks = blocks_of(amp, under.plan.channels("amplifier"))
            if blocks.modes:
                slot = self._made.once((amp, under.sure), AloneSlot, parts, under.whole.k, under.sure)
                bass = self.table.slot("amplifier", blocks, under.sure)
                yield from under.cores((amp, None), (slot, bass), block)

    def _own(self, under: Under, some: SomeAlike, block: HeadSignature | None) -> Iterator[Core]:
        """Every core in which one beside it does, bundled by the amplifier of the loudspeakers."""
        for amp, parts in some.items():
            slots = self._made.once(("any own", amp, under.sure), self._any_own, {amp: parts}, under.sure)
            yield under.bundle(amp, slots, block, partial(self._beside, under, amp, parts, block))

    def _beside(
        self, under: Under, amp: AmplifierSignature, parts: Alike, block: HeadSignature | None
    ) -> Iterator[Core]:
        """With one amplifier for the loudspeakers: one for each kind of input, at each other spot, or on its own."""
        for spot in sorted({str(one.opening_id) for one in parts}):
            here = [one.quiet or one for one in parts if one.opening_id == spot]
            yield from self._apart(under, amp, spot, here, block)
            yield from self._sharing(under, amp, spot, here, block)

    def _apart(
        self, under: Under, amp: AmplifierSignature, spot: str, parts: Alike, block: HeadSignature | None
    ) -> Iterator[Core]:
        """With an amplifier for bass alone at another spot."""
        whole, sure = under.whole, under.sure
        slot = self._made.once((amp, spot, sure), AloneSlot, parts, whole.k, sure)
        for own, others in self._made.once(("others", spot), self._by_line, whole, spot):
            bass = self._made.once(("own", spot, inputs_of(own), sure), OwnBass, self.table, others, sure)
            yield from under.cores((amp, own), (slot, bass), block)

    def _sharing(
        self, under: Under, amp: AmplifierSignature, spot: str, parts: Alike, block: HeadSignature | None
    ) -> Iterator[Core]:
        """With an amplifier for bass alone on the same spot and the same board."""
        if self.rooms is None:
            return
        whole, sure = under.whole, under.sure
        here = self._made.once(("on board", amp, spot), self._on_board, parts, self.rooms.board(spot))
        for way in self.rooms.ways(spot, sure=sure):
            key = (spot, way.along, way.code)
            slot = self._made.once((amp, key, sure), RoomSlot, here, whole.k, sure, way.first)
            for own, others in self._made.once(("here", spot), self._by_line, whole, spot, True):
                bass = self._made.once(
                    ("own", key, inputs_of(own), sure), OwnBass, self.table, others, sure, way.second
                )
                for core in under.cores((amp, own), (slot, bass), block):
                    yield _as_sure(core, way.code, whole.scoring)

    @staticmethod
    def _on_board(parts: Alike, board: Candidate) -> Alike:
        """Amplifiers with the board that they share with another one."""
        return [sharing(one, board) for one in parts]

    def _by_line(self, whole: Field, spot: str, here: bool = False) -> list[tuple[AmplifierSignature, Alike]]:
        """The amplifiers of all other spots, or of this one, by what is said of the line to each."""
        found: dict[object, tuple[AmplifierSignature, Alike]] = {}
        profiles: dict[object, tuple[int, ...]] = {}
        for one in self.amplifiers:
            if (one.opening_id == spot) == here:
                signature = amplifier_signature(one)
                inputs = inputs_of(signature)
                if inputs not in profiles:
                    profiles[inputs] = whole.head_side.line_profile(signature)
                shown = sharing(one, None) if here else one
                found.setdefault(profiles[inputs], (signature, []))[1].append(shown)
        return list(found.values())


def _as_sure(core: Core, code: int, scoring: Scoring) -> Core:
    """The core as it is where this is said of its amplifiers together."""
    if code == FITS or core.what.code != FITS:
        return core
    return replace(core, points=scoring.unknown(True), what=replace(core.what, code=code))
