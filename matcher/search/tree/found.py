"""From a ranked combination back to a package: name, parts, and feeds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from matcher.rules.rule import FITS
from matcher.search.candidates.common import WITH_HEAD
from matcher.search.candidates.table import EQUIPMENT, SetSlot, TableSlot
from matcher.search.exact.choices import Slot
from matcher.search.exact.enumeration import Combination, Name, Taken
from matcher.search.feeds.filtering import filters_code
from matcher.search.feeds.links import channels_code, link_of
from matcher.search.feeds.parts import (
    AmplifierSignature,
    Candidate,
    HeadSignature,
    LineAid,
    aid_of,
    amplifier_signature,
    block_of,
    head_signature,
    speaker_signature,
)
from matcher.search.feeds.plans import BASS_MODES, Plan, bass_feed
from matcher.search.packages import Found, PackageCandidate, Sources
from matcher.search.scoring import Scoring
from matcher.search.tree.bass import BassSlot
from matcher.search.tree.places import OnFeed
from matcher.store.catalog.owned import Owned

SEPARATOR = "\x1f"
"""Separator below any character of a part number: joined names compare like lists."""

LineCode = Callable[[HeadSignature, AmplifierSignature, LineAid | None], int]


@dataclass(frozen=True)
class Slots:
    """The entries of a combination by slot."""

    taken: Taken

    def at(self, fills: Any) -> tuple[Any, int] | None:
        """Return the slot of some name and the position of its entry; None if there is none."""
        return next(((slot, at) for slot, at in self.taken if getattr(slot, "fills", None) == fills), None)

    def candidate(self, fills: Any) -> Candidate | None:
        """Return the candidate in a slot."""
        found = self.at(fills)
        return None if found is None else found[0].candidate(found[1])

    @property
    def on_feeds(self) -> dict[str, tuple[TableSlot, int]]:
        """The loudspeakers by opening."""
        return {
            slot.fills.place.place.opening_id: (slot, at)
            for slot, at in self.taken
            if isinstance(slot, TableSlot) and isinstance(slot.fills, OnFeed)
        }

    @property
    def bass(self) -> tuple[BassSlot, int] | None:
        """The bass system."""
        return next(((slot, at) for slot, at in self.taken if isinstance(slot, BassSlot)), None)

    @property
    def beside(self) -> list[tuple[SetSlot, int]]:
        """Accompanying parts, in the order of the slots."""
        found = [(slot, at) for slot, at in self.taken if isinstance(slot, SetSlot) and slot.order is not None]
        return sorted(found, key=lambda one: one[0].order or 0)


@dataclass(frozen=True)
class Reader:
    """Reads the combinations of a job.

    Parameters
    ----------
    openings
        Loudspeaker places in the total order's sequence.
    line_code
        Verdict code of the line between a head unit and an amplifier.
    pair_code
        Verdict code of two amplifiers on one spot.
    """

    plans: Sequence[Plan]
    openings: Sequence[str]
    with_bass: bool
    scoring: Scoring
    line_code: LineCode
    pair_code: Callable[[Taken], int]
    owned: Sequence[Owned] = ()
    """The customer's own parts, of which a package cannot take more than there are."""

    def has_enough(self, found: Found) -> bool:
        """Return whether a package takes no more of the customer's own parts than there are."""
        for own in self.owned:
            fitted = [one.candidate for one in found.fitted if one.candidate.part_id == own.part_id]
            there = own.pieces or (2 if any(one.slot == "speaker" for one in fitted) else 1)
            if sum(one.cost.pieces for one in fitted if own.opening_id in (None, one.opening_id)) > there:
                return False
        return True

    def name(self, taken: Taken) -> Name:
        """Return the name for the total order: head unit, loudspeakers, amplifier, bass, independent slots."""
        slots = Slots(taken)
        words = [*self._head_name(slots)]
        fed = slots.on_feeds
        for opening_id in self.openings:
            slot, at = fed[opening_id]
            words += slot.name(at)
        words += self._own_name(slots, "amplifier")
        if self.with_bass and slots.bass is not None:
            system, at = slots.bass
            words += [*system.name(at), "".join(self._own_name(slots, "bass_amplifier"))]
        for slot_beside, at in slots.beside:
            words += [SEPARATOR.join(slot_beside.names(at)), ""]
        return tuple(words)

    @staticmethod
    def _head_name(slots: Slots) -> tuple[str, str]:
        head = slots.at("head_unit")
        assert head is not None
        part, adapter = head[0].name(head[1])
        equipment, aid = slots.at(EQUIPMENT), slots.at("line_aid")
        along = [] if equipment is None else equipment[0].names(equipment[1])
        along += [] if aid is None else [aid[0].name(aid[1])[0]]
        return part, SEPARATOR.join((adapter, *along))

    @staticmethod
    def _own_name(slots: Slots, fills: str) -> tuple[str, str]:
        found = slots.at(fills)
        return ("", "") if found is None else found[0].name(found[1])

    def preference(self, taken: Taken) -> tuple[int, ...]:
        """Return the preference among packages of equal parts, points and money: plainer plan, better verdict."""
        slots = Slots(taken)
        unsure = sum(self._is_unsure(slot, at) for slot, at in taken)
        bass = slots.bass
        how = (0, 0) if bass is None else (BASS_MODES.index(bass[0].fills.mode), bass[0].fills.wiring)
        return (self._rank(slots), unsure, *how)

    @staticmethod
    def _is_unsure(slot: Slot, at: int) -> bool:
        if isinstance(slot, TableSlot) and isinstance(slot.fills, OnFeed):
            on, row = slot.fills, slot.row(at)
            return slot.doubt(at) or on.place.code(row, on.group, on.wired(row), on.beside) != FITS
        if isinstance(slot, BassSlot):
            return slot.doubt(at) or slot.fills.code != FITS
        return bool(slot.doubt(at))  # type: ignore[attr-defined]

    def _rank(self, slots: Slots) -> int:
        feeds = {slot.fills.feed for slot, _ in slots.on_feeds.values()}
        return next(at for at, plan in enumerate(self.plans) if set(plan.feeds) == feeds)

    def package(self, found: Combination) -> Found:
        """Return the package of a combination."""
        slots = Slots(found.taken)
        rank = self._rank(slots)
        head, amplifier, own = (slots.candidate(one) for one in ("head_unit", "amplifier", "bass_amplifier"))
        assert head is not None
        equipment, aid = slots.at(EQUIPMENT), slots.candidate("line_aid")
        more = () if equipment is None else equipment[0].candidates(equipment[1])
        if more or aid is not None:
            head = replace(head, along=(*head.along, *more, *([] if aid is None else [aid])))
        if (extra := slots.at(WITH_HEAD)) is not None:
            head = _with(head, *extra[0].candidates(extra[1]))
        sources = self._sources(found.taken, self.plans[rank], head, amplifier, own)
        fitted = [PackageCandidate(head, unsure=head.unsure), *self._speakers(slots, sources)]
        fitted += [] if amplifier is None else [PackageCandidate(amplifier, unsure=amplifier.unsure)]
        fitted += self._bass(slots, sources, own)
        fitted += [PackageCandidate(one, unsure=one.unsure) for slot, at in slots.beside for one in slot.candidates(at)]
        lost = self.scoring.unknown(sources.code)
        shared = sources.plan.without_fader * self.scoring.shared
        return Found(found.points, found.cents, found.uses, found.name, sources, rank, lost, shared, tuple(fitted))

    def _sources(
        self, taken: Taken, plan: Plan, head: Candidate, amplifier: Candidate | None, own: Candidate | None
    ) -> Sources:
        signature, aid = head_signature(head), aid_of(head)
        needed = plan.channels("head_unit")
        codes = [channels_code(signature, needed), self.pair_code(taken)]
        if self.with_bass:
            codes.append(filters_code(plan, signature, *(amplifier_signature(one) for one in (amplifier, own) if one)))
        if amplifier is not None:
            codes.append(channels_code(amplifier_signature(amplifier), plan.channels("amplifier")))
        codes += [
            self.line_code(signature, amplifier_signature(one), aid) for one in (amplifier, own) if one is not None
        ]
        fed = None if amplifier is None else amplifier_signature(amplifier)
        return Sources(plan, block_of(signature) if needed else None, fed, min(codes))

    def _speakers(self, slots: Slots, sources: Sources) -> list[PackageCandidate]:
        fed = slots.on_feeds
        coils = {name: slot.fills.wired(slot.row(at)) for name, (slot, at) in fed.items()}
        found = []
        for feed in sources.plan.feeds:
            for name in feed.openings:
                slot, at = fed[name]
                beside = next((coils[other].load_ohm for other in feed.openings if other != name), None)
                one = slot.candidate(at)
                link = link_of(sources.of(feed), feed.mode, coils[name], speaker_signature(one), beside)
                on, row = slot.fills, slot.row(at)
                code = on.place.code(row, on.group, coils[name], on.beside)
                known = self.scoring.unknown_beside(code, one.code)
                earned = int(slot.points[at]) - one.total_points - known
                points = (("loudness", earned), ("known", known))
                found.append(PackageCandidate(one, feed, coils[name], link, one.unsure or code != FITS, points))
        return found

    def _bass(self, slots: Slots, sources: Sources, own: Candidate | None) -> list[PackageCandidate]:
        if slots.bass is None:
            return []
        slot, at = slots.bass
        fills, system = slot.fills, slot.system(at)
        source = sources.amplifier if own is None else amplifier_signature(own)
        assert source is not None
        feed = bass_feed("amplifier" if own is None else "bass_amplifier", fills.mode, str(system.box.opening_id))
        link = link_of(source, fills.mode, fills.coils, system.signature)
        known = self.scoring.unknown_beside(fills.code, system.code)
        points = (("bass", int(slot.points[at]) - system.points - known), ("known", known))
        unsure = fills.code != FITS or system.driver.unsure
        driver = PackageCandidate(system.driver, feed, fills.coils, link, unsure, points, system)
        fitted = [driver, PackageCandidate(system.box, unsure=system.box.unsure, bass=system)]
        return (
            fitted
            if own is None
            else [*fitted, PackageCandidate(replace(own, slot="bass_amplifier"), unsure=own.unsure)]
        )


def _with(head: Candidate, extra: Candidate) -> Candidate:
    """A head unit with the additions of its plan: in-line filters, and the current of its own channels."""
    cost = replace(head.cost, kit_cents=head.cost.kit_cents + extra.cost.kit_cents)
    return replace(head, kit=(*head.kit, *extra.kit), cost=cost, draw=extra.draw, points=(*head.points, *extra.points))
