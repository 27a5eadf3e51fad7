"""The amplifiers of a job as sources: by signature, and by what they are to the loudspeakers of a plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from matcher.rules.rule import NO
from matcher.search.exact.entries import Slot
from matcher.search.exact.kept import Kept
from matcher.search.feeds.links import channels_code
from matcher.search.feeds.parts import AmplifierSignature, Candidate, amplifiers_alike, fed_by
from matcher.search.feeds.plans import Mode, Plan
from matcher.search.feeds.slots import AloneSlot, AnySlot

ByFeed = dict[AmplifierSignature, list[AmplifierSignature]]
"""Amplifiers by what they are to loudspeakers."""


@dataclass
class AmplifierSide:
    """The amplifiers of a field."""

    amplifiers: Sequence[Candidate]
    k: int
    _made: Kept = field(default_factory=Kept)

    @cached_property
    def alike(self) -> dict[AmplifierSignature, list[Candidate]]:
        """The amplifiers by their signature."""
        return amplifiers_alike(self.amplifiers)

    def by_feed(self, modes: frozenset[Mode]) -> ByFeed:
        """Their signatures, by what they are to loudspeakers that are fed in some modes."""

        def make() -> ByFeed:
            found: ByFeed = {}
            for amp in self.alike:
                found.setdefault(fed_by(amp, modes), []).append(amp)
            return found

        found: ByFeed = self._made.once(("fed", modes), make)
        return found

    def slot(self, amplifier: AmplifierSignature, sure: bool) -> Slot:
        """The amplifiers of a signature."""
        slot: Slot = self._made.once((amplifier, sure), lambda: AloneSlot(self.alike[amplifier], self.k, sure))
        return slot

    def any_of(self, plan: Plan, fed: AmplifierSignature, sure: bool) -> Slot:
        """Those that have the channels which a plan takes, and are this to its loudspeakers."""
        modes, needed = plan.modes("amplifier"), plan.channels("amplifier")
        return self._any(("any", modes, fed, needed, sure), self.by_feed(modes)[fed], needed, sure)

    def any_at_all(self, plan: Plan, sure: bool) -> Slot:
        """Those that have the channels which a plan takes."""
        needed = plan.channels("amplifier")
        return self._any(("any at all", needed, sure), self.alike, needed, sure)

    def _any(self, key: object, some: Iterable[AmplifierSignature], needed: int, sure: bool) -> Slot:
        enough = (amp for amp in some if channels_code(amp, needed) != NO)
        slot: Slot = self._made.once(key, lambda: AnySlot([self.slot(amp, sure) for amp in enough]))
        return slot
