"""Cores of a job: every plan with every pair of source signatures, as slots of entries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from math import prod

from matcher.rules.rule import FITS, MEASURE, NO
from matcher.search.beside import Beside
from matcher.search.links import (
    Coils,
    Line,
    Link,
    SourceSignature,
    channels_code,
    coil_nets,
    line_codes,
    line_of,
    link_codes,
    link_of,
)
from matcher.search.parts import (
    NO_USE,
    AmplifierSignature,
    Candidate,
    HeadSignature,
    SpeakerSignature,
    speaker_signature,
)
from matcher.search.plans import Feed, Plan, every_plan
from matcher.search.question import JobQuestion
from matcher.search.ranking import Core, Entry, ListSlot, Slot
from matcher.search.scoring import Scoring
from matcher.search.slots import AloneSlot, ChoiceSlot, FedSlot, Group, groups_of
from matcher.store.connection import Connection

NO_AMPLIFIER = ListSlot([Entry(0, 0, NO_USE, ("", ""), ())])


@dataclass(frozen=True, slots=True)
class Sources:
    """A core's plan and the signatures of what feeds it."""

    plan: Plan
    head: HeadSignature
    amplifier: AmplifierSignature | None
    code: int
    """What the rules say of the sources together: their line levels and channels."""

    def of(self, feed: Feed) -> SourceSignature:
        """The signature that a feed comes from."""
        if feed.source == "head_unit" or self.amplifier is None:
            return self.head
        return self.amplifier


@dataclass
class Field:
    """Everything the ranking of a job is made of: candidates, plans, and what the rules say of links."""

    question: JobQuestion
    scoring: Scoring
    k: int
    """How many packages are asked for: what k others always beat is left out."""
    heads: list[Candidate]
    amplifiers: list[Candidate]
    speakers: dict[str, list[Candidate]]
    beside: list[Beside] = field(default_factory=list)
    """Slots that no link concerns."""
    plans: list[Plan] = field(init=False)
    groups: dict[str, list[Group]] = field(init=False)
    codes: dict[Link, int] = field(default_factory=dict)
    lines: dict[Line, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.plans = every_plan([place.fed for place in self.question.speakers], bool(self.amplifiers))
        doubt = self.scoring.unknown(True)
        self.groups = {name: groups_of(candidates, self.k, doubt) for name, candidates in self.speakers.items()}
        self._counts = {place.opening_id: place.count for place in self.question.speakers}
        self._order = [place.opening_id for place in self.question.speakers]
        self._fed: dict[tuple[Feed, SourceSignature, bool], FedSlot] = {}

    def considered(self) -> int:
        """How many combinations of parts, plans and coil nets an answer covers."""
        total = 0
        for plan in self.plans:
            ways = len(self.heads) * (len(self.amplifiers) if plan.amplified else 1)
            for feed in plan.feeds:
                for name in feed.openings:
                    ways *= sum(len(self.nets(name, speaker_signature(one), feed)) for one in self.speakers[name])
            total += ways * prod(slot.ways for slot in self.beside)
        return total

    def nets(self, opening_id: str, signature: SpeakerSignature, feed: Feed) -> list[Coils]:
        """The coil nets of a loudspeaker at a place on a feed."""
        count = self._counts[opening_id]
        untouched = signature.original and self.question.dash_id is None and feed.source == "head_unit"
        if untouched and count == 1 and feed.mode == "pair":
            return [Coils("as it was", signature.impedance_ohm, 1)]
        return coil_nets(signature, count, feed.mode)

    def loads(self, opening_id: str, feed: Feed) -> list[Decimal | None]:
        """Every load that a place may put on a feed."""
        loads = {
            coils.load_ohm
            for signature, _ in self.groups[opening_id]
            for coils in self.nets(opening_id, signature, feed)
        }
        return sorted(loads, key=lambda load: (load is None, load))

    def ask_rules(self, con: Connection) -> None:
        """What the rules say of every link and every pairing of line levels, in two statements."""
        links = {link for feed in {feed for plan in self.plans for feed in plan.feeds} for link in self._links(feed)}
        self.codes = link_codes(con, links, self.scoring.settings)
        pairs = {line_of(head, amp) for head in _by_signature(self.heads) for amp in _by_signature(self.amplifiers)}  # type: ignore[arg-type]
        self.lines = line_codes(con, sorted(pairs, key=repr), self.scoring.settings)

    def _links(self, feed: Feed) -> Iterator[Link]:
        sources = _by_signature(self.heads if feed.source == "head_unit" else self.amplifiers)
        for opening_id in feed.openings:
            others = [other for other in feed.openings if other != opening_id]
            besides = self.loads(others[0], feed) if others else [None]
            for signature, _ in self.groups[opening_id]:
                for coils in self.nets(opening_id, signature, feed):
                    for beside in besides:
                        for source in sources:
                            yield link_of(source, feed.mode, coils, signature, beside)  # type: ignore[arg-type]

    def cores(self, *, sure: bool = False) -> Iterator[Core]:
        """Every core; of sure entries only, where nothing may be left to measure."""
        heads = {sign: AloneSlot(parts, self.k, sure) for sign, parts in _by_signature(self.heads).items()}
        amps = {sign: AloneSlot(parts, self.k, sure) for sign, parts in _by_signature(self.amplifiers).items()}
        beside = tuple(ChoiceSlot(slot.alternatives, self.k, sure) for slot in self.beside)
        for rank, plan in enumerate(self.plans):
            for head, head_slot in heads.items():
                if channels_code(head, plan.channels("head_unit")) == NO:  # type: ignore[arg-type]
                    continue
                for amp, amp_slot in amps.items() if plan.amplified else [(None, NO_AMPLIFIER)]:
                    code = self._code(plan, head, amp)  # type: ignore[arg-type]
                    if code != NO and not (sure and code == MEASURE):
                        core = self._core(rank, Sources(plan, head, amp, code), head_slot, amp_slot, sure)
                        yield replace(core, slots=(*core.slots, *beside))  # type: ignore[arg-type]

    def _code(self, plan: Plan, head: HeadSignature, amplifier: AmplifierSignature | None) -> int:
        code = channels_code(head, plan.channels("head_unit"))
        if amplifier is None:
            return code
        line = self.lines[line_of(head, amplifier)]
        return min(code, line, channels_code(amplifier, plan.channels("amplifier")))

    def _core(self, rank: int, sources: Sources, head: Slot, amplifier: Slot, sure: bool) -> Core:
        feeds = [self._feed_slot(feed, sources.of(feed), sure) for feed in sources.plan.feeds]
        return Core(
            points=self.scoring.unknown(sources.code != FITS),
            slots=(head, *feeds, amplifier),
            rank=rank,
            arrangement=self._arrangement(sources.plan),
            what=sources,
        )

    def _feed_slot(self, feed: Feed, source: SourceSignature, sure: bool) -> FedSlot:
        key = (feed, source, sure)
        if key not in self._fed:
            self._fed[key] = FedSlot(self, feed, source, sure)
        return self._fed[key]

    def _arrangement(self, plan: Plan) -> tuple[int, ...]:
        """Head unit, openings in the vehicle's order, amplifier, what stands beside: two words each."""
        shown = [name for feed in plan.feeds for name in feed.openings]
        beside = range(2 + len(shown), 2 + len(shown) + len(self.beside))
        slots = [0, *(1 + shown.index(name) for name in self._order), 1 + len(shown), *beside]
        return tuple(2 * slot + word for slot in slots for word in (0, 1))


def _by_signature(candidates: Sequence[Candidate]) -> dict[object, list[Candidate]]:
    groups: dict[object, list[Candidate]] = {}
    for one in candidates:
        groups.setdefault(one.signature, []).append(one)
    return groups
