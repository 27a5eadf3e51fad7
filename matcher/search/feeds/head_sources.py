"""The head units of a job as sources: by the block that a plan takes of them, and by what is said of their lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING

from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.exact.entries import Slot
from matcher.search.exact.kept import Kept
from matcher.search.feeds.links import Line, Outputs, channels_code, inputs_of, line_of, outputs_of
from matcher.search.feeds.parts import (
    AmplifierSignature,
    Candidate,
    HeadSignature,
    LineAid,
    block_of,
    head_signature,
)
from matcher.search.feeds.plans import Plan
from matcher.search.feeds.slots import AidedSlot, AloneSlot, AnySlot

if TYPE_CHECKING:
    from matcher.search.candidates.line_aids import Helped, LineAids


@dataclass
class HeadSide:
    """The head units of a field, with the accessories that make a line level."""

    heads: Sequence[Candidate]
    aids: LineAids | None
    k: int
    lines: Mapping[Line, int]
    """What the rules say of each line to an amplifier."""
    _made: Kept = field(default_factory=Kept)

    def any_heads(self, plan: Plan, sure: bool) -> dict[HeadSignature | None, Slot]:
        """The head units that have the channels which a plan takes of them, by the block that it takes."""
        needed = plan.channels("head_unit")

        def make() -> dict[HeadSignature | None, Slot]:
            grouped: dict[HeadSignature | None, list[Slot]] = {}
            for head, slot in self._head_groups(sure).items():
                if channels_code(head, needed) != NO:
                    grouped.setdefault(block_of(head) if needed else None, []).append(slot)
            return {block: AnySlot(slots) for block, slots in grouped.items()}

        found: dict[HeadSignature | None, Slot] = self._made.once(("any head", needed, sure), make)
        return found

    def slots(
        self, plan: Plan, amplifier: AmplifierSignature | None, sure: bool, own_bass: AmplifierSignature | None = None
    ) -> HeadSlots:
        """The head units that a plan may have, by the block it takes of them and by how sure they are.

        To an amplifier only the line level matters: head units that its input takes are one slot.
        """
        own = FITS if amplifier is None else channels_code(amplifier, plan.channels("amplifier"))
        if own == NO or (sure and own == MEASURE):
            return {}
        needed = plan.channels("head_unit")
        amplifiers = [amp for amp in (amplifier, own_bass) if amp is not None]

        def make() -> HeadSlots:
            grouped: dict[tuple[HeadSignature | None, int], list[Slot]] = {}
            for head, slot, line in self._lined(amplifiers, sure):
                code = min(own, line, channels_code(head, needed))
                if code != NO and not (sure and code == MEASURE):
                    grouped.setdefault((block_of(head) if needed else None, code), []).append(slot)
            return {key: AnySlot(slots) for key, slots in grouped.items()}

        profiles = tuple(self.line_profile(amp) for amp in amplifiers)
        found: HeadSlots = self._made.once(("slots", needed, own, sure, profiles), make)
        return found

    @cached_property
    def outputs(self) -> list[HeadSignature]:
        """A head unit for each kind of line outputs."""
        return list({outputs_of(head): head for head in map(head_signature, self.heads)}.values())

    @cached_property
    def blocks(self) -> list[HeadSignature]:
        """Every block of their own amplifiers."""
        return list(dict.fromkeys(block_of(head_signature(one)) for one in self.heads))

    def line_profile(self, amplifier: AmplifierSignature) -> tuple[int, ...]:
        """What the rules say of the line from every head unit, by itself and with each accessory, to an amplifier."""

        def make() -> tuple[int, ...]:
            return tuple(self.lines[line_of(head, amplifier, aid)] for head, aid in self._asked)

        found: tuple[int, ...] = self._made.once(("profile", inputs_of(amplifier)), make)
        return found

    @cached_property
    def _asked(self) -> list[tuple[HeadSignature, LineAid | None]]:
        """Whatever a profile tells of, in its order."""
        return list(product(self.outputs, (None, *(() if self.aids is None else self.aids.signatures))))

    def told(self, amplifiers: Iterable[AmplifierSignature]) -> dict[tuple[Outputs, LineAid | None], int]:
        """The worst that is said of the line from each kind of outputs to some amplifiers."""
        worst = map(min, zip(*map(self.line_profile, amplifiers), strict=True))
        return {(outputs_of(head), aid): code for (head, aid), code in zip(self._asked, worst, strict=True)}

    def _lined(self, amplifiers: list[AmplifierSignature], sure: bool) -> Iterator[tuple[HeadSignature, Slot, int]]:
        """Head units alike, by themselves and with an accessory, with what is said of their line to amplifiers."""
        told = self.told(amplifiers) if amplifiers else {}
        for head, slot in self._head_groups(sure).items():
            yield head, slot, told[outputs_of(head), None] if amplifiers else FITS
        if amplifiers and self.aids is not None:
            for one in self.aids.helped(self.heads, told):
                yield one.signature, self._made.once((one.kin, one.makes, sure), self._aided, one, sure), one.code

    def _aided(self, one: Helped, sure: bool) -> Slot:
        """The slot of head units with one of some accessories."""
        heads = self._made.once((one.kin, sure), AloneSlot, one.heads, self.k, sure)
        return AidedSlot(heads, AloneSlot(one.aids, self.k, sure), self.k)

    def _head_groups(self, sure: bool) -> dict[HeadSignature, Slot]:
        """A slot of the head units of each signature."""

        def make() -> dict[HeadSignature, Slot]:
            groups: dict[HeadSignature, list[Candidate]] = {}
            for one in self.heads:
                groups.setdefault(head_signature(one), []).append(one)
            return {head: AloneSlot(parts, self.k, sure) for head, parts in groups.items()}

        made: dict[HeadSignature, Slot] = self._made.once(("heads", sure), make)
        return made


HeadSlots = dict[tuple[HeadSignature | None, int], Slot]
"""By the block that a plan takes, and by how sure they are."""
