"""Cores of a job: every plan with every pair of source signatures, as slots of entries."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property, partial
from math import prod
from typing import TYPE_CHECKING, Any

from matcher.rules.rule import FITS
from matcher.search.candidates.beside import Beside
from matcher.search.exact.entries import Entry, ListSlot, Slot
from matcher.search.exact.packages import Core
from matcher.search.feeds.fed_slots import FedSlot, Group, SharedSlot, groups_of
from matcher.search.feeds.head_sources import HeadSide
from matcher.search.feeds.links import (
    Coils,
    Line,
    Link,
    SourceSignature,
    coil_nets,
    inputs_of,
    line_codes,
    line_of,
    link_codes,
    link_of,
)
from matcher.search.feeds.parts import (
    NO_USE,
    AmplifierSignature,
    Candidate,
    HeadSignature,
    SpeakerSignature,
    amplifiers_alike,
    block_of,
    fed_by,
    head_signature,
)
from matcher.search.feeds.plans import Feed, Mode, Plan, Source, every_plan
from matcher.search.feeds.slots import AloneSlot, AnySlot, ChoiceSlot, GroupTop, group_top
from matcher.search.fits.mounted import Tally
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.store.connection import Connection

if TYPE_CHECKING:
    from matcher.search.bass.cores import BassCores
    from matcher.search.bass.figures import BassSide
    from matcher.search.candidates.line_aids import LineAids
    from matcher.search.rooms import Rooms

NO_AMPLIFIER = ListSlot([Entry(0, 0, NO_USE, ("", ""), ())])


@dataclass(frozen=True, slots=True)
class Sources:
    """A core's plan and the signatures of what feeds it."""

    plan: Plan
    head: HeadSignature | None
    """The block that the plan takes of the head unit's own amplifier; none where it takes none."""
    amplifier: AmplifierSignature | None
    code: int
    """What the rules say of the sources together: their line levels and channels."""

    def of(self, feed: Feed) -> SourceSignature:
        """The signature that a feed comes from."""
        source = self.head if feed.source == "head_unit" else self.amplifier
        assert source is not None
        return source


Wired = dict[Decimal | None, list[tuple[int, SpeakerSignature, Coils]]]
"""By load: the groups of a place, by their position, and the nets that put this load on a feed."""


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
    bass: BassSide | None = None
    """Bass systems, where bass is asked for: then every package has one."""
    head_tallies: list[Tally] = field(default_factory=list)
    """How many head units there are, those included that others always beat."""
    tallies: dict[str, dict[SpeakerSignature, Tally]] = field(default_factory=dict)
    """How many loudspeakers of each signature there are for each place."""
    amplifier_tallies: Mapping[str, Tally] = field(default_factory=dict)
    """How many amplifiers go onto each spot."""
    aids: LineAids | None = None
    """Accessories that make a line level."""
    rooms: Callable[[Sequence[Candidate]], Rooms] | None = None
    """The spots that two amplifiers may share."""
    once: Callable[[object, Callable[[], Any]], Any] = lambda key, make: make()
    """What keeps what was read, for other fields of the same question too."""
    nets_wanted: Mapping[str, str] = field(default_factory=dict)
    """By opening: the coil net that alone is looked at; all of them at an opening that is not named."""
    plans: list[Plan] = field(init=False)
    groups: dict[str, list[Group]] = field(init=False)
    codes: dict[Link, int] = field(default_factory=dict)
    lines: dict[Line, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.plans = every_plan([place.fed for place in self.question.speakers], any(self._on_spots))
        doubt = self.scoring.unknown(True)
        self.groups = {name: groups_of(candidates, self.k, doubt) for name, candidates in self.speakers.items()}
        self._counts = {place.opening_id: place.count for place in self.question.speakers}
        self._order = [place.opening_id for place in self.question.speakers]
        self._tops: dict[tuple[str, tuple[int, ...], bool], list[GroupTop | None]] = {}
        self._made: dict[object, Any] = {}
        self.head_side = HeadSide(self.heads, self.aids, self.k)
        self._bass: BassCores | None = None
        if self.bass is not None:
            from matcher.search.bass.cores import BassCores, BassTable

            self._bass = BassCores(
                self.bass,
                self.amplifiers,
                BassTable(self.bass, self.scoring, self.codes),
                None if self.rooms is None else self.rooms(self.amplifiers),
            )
        self._wired: dict[tuple[str, Source, Mode], Wired] = {}
        self._fed: dict[tuple[Feed, SourceSignature, bool], FedSlot] = {}

    def tops(self, opening_id: str, multipliers: tuple[int, ...], sure: bool) -> list[GroupTop | None]:
        """What each group of a place has at most; of its sure members only, where nothing may be unsure."""
        key = (opening_id, multipliers, sure)
        if key not in self._tops:
            groups = (members for _, members in self.groups[opening_id])
            kept = ([one for one in members if not (sure and one.unsure)] for members in groups)
            self._tops[key] = [group_top(members, multipliers) for members in kept]
        return self._tops[key]

    @cached_property
    def amplifiers_alike(self) -> dict[AmplifierSignature, list[Candidate]]:
        """The amplifiers by their signature."""
        return amplifiers_alike(self.amplifiers)

    @property
    def _on_spots(self) -> list[int]:
        """How many amplifiers go onto each spot."""
        return [tally.ways for tally in self.amplifier_tallies.values()]

    def considered(self) -> int:
        """How many combinations of parts, plans and coil nets an answer covers."""
        total, heads = 0, sum(tally.ways for tally in self.head_tallies)
        for plan in self.plans:
            alone = sum(self._on_spots) if plan.amplified else 1
            ways = heads * (alone if self._bass is None else self._bass.ways(plan, self._on_spots))
            ways *= 1 + (len(self.aids) if self.aids and (plan.amplified or self._bass is not None) else 0)
            for feed in plan.feeds:
                for name in feed.openings:
                    tallies = self.tallies[name].items()
                    ways *= sum(tally.ways * len(self.nets(name, signature, feed)) for signature, tally in tallies)
            total += ways * prod(slot.ways for slot in self.beside)
        return total

    def nets(self, opening_id: str, signature: SpeakerSignature, feed: Feed) -> list[Coils]:
        """The coil nets of a loudspeaker at a place on a feed."""
        count = self._counts[opening_id]
        untouched = signature.original and self.question.dash_id is None and feed.source == "head_unit"
        if untouched and count == 1 and feed.mode == "pair":
            return [Coils("as it was", signature.impedance_ohm, 1)]
        wanted = self.nets_wanted.get(opening_id)
        return [one for one in coil_nets(signature, count, feed.mode) if wanted in (None, one.net)]

    def wired(self, opening_id: str, feed: Feed) -> Wired:
        """Every group of a place in every net, by the load that it puts on the feed."""
        key = (opening_id, feed.source, feed.mode)
        if key not in self._wired:
            made: Wired = {}
            for position, (signature, _) in enumerate(self.groups[opening_id]):
                for coils in self.nets(opening_id, signature, feed):
                    made.setdefault(coils.load_ohm, []).append((position, signature, coils))
            self._wired[key] = dict(sorted(made.items(), key=lambda item: (item[0] is None, item[0])))
        return self._wired[key]

    def loads(self, opening_id: str, feed: Feed) -> list[Decimal | None]:
        """Every load that a place may put on a feed."""
        return list(self.wired(opening_id, feed))

    def ask_rules(self, con: Connection) -> None:
        """What the rules say of every link and every pairing of line levels, in two statements."""
        blocks = dict.fromkeys(block_of(head_signature(one)) for one in self.heads)
        key = ("links", self.wiring, len(self.plans), tuple(self.amplifiers_alike), tuple(blocks))
        links = self.once(key, lambda: set(self._every_link()))
        if self._bass is not None:
            links = links | set(self._bass.links())
        unasked = links - self.codes.keys()
        self.codes.update(link_codes(con, unasked, self.scoring.settings))
        # Of either side one stands for all that differ in nothing that their line hangs on.
        amps = list({inputs_of(amp): amp for amp in self.amplifiers_alike}.values())
        pairs = {line_of(head, amp) for head in self.head_side.outputs for amp in amps}
        pairs |= set(() if self.aids is None else self.aids.lines(self.head_side.outputs, amps))
        self.lines = self.head_side.lines = line_codes(con, sorted(pairs, key=repr), self.scoring.settings)

    @cached_property
    def wiring(self) -> object:
        """What stands for all that the nets of the loudspeakers hang on: one thing to all fields alike in that."""
        kinds = tuple((name, tuple(signature for signature, _ in groups)) for name, groups in self.groups.items())
        asked = (tuple(self._counts.items()), self.question.dash_id is None, tuple(sorted(self.nets_wanted.items())))
        return self.once(("wiring", kinds, asked, self.scoring.wishes), object)

    def _every_link(self) -> Iterator[Link]:
        """Every link of every plan."""
        feeds = dict.fromkeys(feed for plan in self.plans for feed in plan.feeds)
        return (link for feed in feeds for link in self._links(feed))

    def _links(self, feed: Feed) -> Iterator[Link]:
        sources = self._blocks(feed)
        for opening_id in feed.openings:
            others = [other for other in feed.openings if other != opening_id]
            besides = self.loads(others[0], feed) if others else [None]
            for signature, _ in self.groups[opening_id]:
                for coils in self.nets(opening_id, signature, feed):
                    for beside in besides:
                        for source in sources:
                            yield link_of(source, feed.mode, coils, signature, beside)

    def _blocks(self, feed: Feed) -> Collection[SourceSignature]:
        """Every block that a feed may come from."""
        if feed.source == "head_unit":
            return {block_of(head_signature(one)): None for one in self.heads}
        return {fed_by(amp, (feed.mode,)): None for amp in self.amplifiers_alike}

    def cores(self, *, sure: bool = False) -> Iterator[Core]:
        """Every core, in bundles; of sure entries only, where nothing may be left to measure."""
        beside = tuple(ChoiceSlot(slot.alternatives, self.k, sure) for slot in self.beside)
        for rank, plan in enumerate(self.plans):
            if self._bass is not None:
                yield from (with_slots(core, beside) for core in self._bass.of(self, rank, plan, sure=sure))
            elif plan.amplified:
                yield from self._bundles(rank, plan, beside, sure)
            else:
                for block in self.head_side.any_heads(plan, sure):
                    plain = self._plain(rank, plan, [(None, NO_AMPLIFIER)], sure, block)
                    yield from (with_slots(core, beside) for core in plain)

    def _plain(
        self,
        rank: int,
        plan: Plan,
        amplifiers: Sequence[tuple[AmplifierSignature | None, Slot]],
        sure: bool,
        wanted: HeadSignature | None,
    ) -> Iterator[Core]:
        """The cores of a plan with some amplifiers, and one block of a head unit."""
        for amp, amp_slot in amplifiers:
            for (block, code), head_slot in self.head_side.slots(plan, amp, sure).items():
                if block == wanted:
                    yield self.core(rank, plan, (block, amp, code), (head_slot, amp_slot), sure)

    def _bundles(self, rank: int, plan: Plan, beside: tuple[Slot, ...], sure: bool) -> Iterator[Core]:
        """The cores of a plan, bundled where what feeds its loudspeakers is one to them, whatever the line level."""
        alike: dict[AmplifierSignature, list[tuple[AmplifierSignature | None, Slot]]] = {}
        for amp, parts in self.amplifiers_alike.items():
            slot = self._once(("amplifier", amp, sure), partial(AloneSlot, parts, self.k, sure))
            alike.setdefault(fed_by(amp, plan.modes("amplifier")), []).append((amp, slot))
        for fed, amplifiers in alike.items():
            any_amplifier = AnySlot([slot for _, slot in amplifiers])
            inside = partial(self._plain, rank, plan, amplifiers, sure)
            for core in self.bundles(rank, plan, fed, (any_amplifier,), inside, sure):
                yield with_slots(core, beside)

    def bundles(
        self,
        rank: int,
        plan: Plan,
        fed: AmplifierSignature,
        slots: Sequence[Slot],
        inside: Callable[[HeadSignature | None], Iterator[Core]],
        sure: bool,
    ) -> Iterator[Core]:
        """A plan's cores with amplifiers that are one to its loudspeakers, in a bundle for each block of a head unit.

        `slots` hold these amplifiers, and what else stands in the cores; `inside` makes those with one block.
        """
        amplifier, *more = slots
        for block, heads in self.head_side.any_heads(plan, sure).items():
            core = self.core(rank, plan, (block, fed, FITS), (heads, amplifier), sure)
            # One with an accessory costs no less than by itself, draws no less, and earns at most this more.
            most = 0 if self.aids is None else self.aids.most_points
            yield replace(core, points=most, slots=(*core.slots, *more), inside=partial(inside, block))

    def _once(self, key: object, make: Callable[[], Any]) -> Any:
        """A slot that several cores have, made once."""
        if key not in self._made:
            self._made[key] = make()
        return self._made[key]

    def core(
        self,
        rank: int,
        plan: Plan,
        signatures: tuple[HeadSignature | None, AmplifierSignature | None, int],
        slots: tuple[Slot, Slot],
        sure: bool,
    ) -> Core:
        """One core: a plan, the signatures of its sources and what is known of them, the slots of both."""
        sources, (head, amplifier) = Sources(plan, *signatures), slots
        feeds = [self._feed_slot(feed, sources.of(feed), sure) for feed in sources.plan.feeds]
        return Core(
            points=self.scoring.unknown(sources.code != FITS),
            slots=(head, *feeds, amplifier),
            rank=rank,
            arrangement=self._arrangement(sources.plan),
            what=sources,
        )

    def _feed_slot(self, feed: Feed, source: SourceSignature, sure: bool) -> FedSlot:
        if isinstance(source, AmplifierSignature):
            source = fed_by(source, (feed.mode,))
        key = (feed, source, sure)
        if key not in self._fed:
            kind = FedSlot if len(feed.openings) == 1 else SharedSlot
            self._fed[key] = kind(self, feed, source, sure)
        return self._fed[key]

    def _arrangement(self, plan: Plan) -> tuple[int, ...]:
        """Head unit, openings in the vehicle's order, amplifier, what stands beside: two words each, of bass four."""
        shown = [name for feed in plan.feeds for name in feed.openings]
        more = len(self.beside) + (0 if self.bass is None else 2)
        beside = range(2 + len(shown), 2 + len(shown) + more)
        slots = [0, *(1 + shown.index(name) for name in self._order), 1 + len(shown), *beside]
        return tuple(2 * slot + word for slot in slots for word in (0, 1))


def with_slots(core: Core, more: tuple[Slot, ...]) -> Core:
    """A core, or every core of a bundle, with some slots after its own."""
    inside = None if core.inside is None else partial(_with_more, core.inside, more)
    return replace(core, slots=(*core.slots, *more), inside=inside)


def _with_more(inside: Callable[[], Iterable[Core]], more: tuple[Slot, ...]) -> Iterator[Core]:
    return (with_slots(core, more) for core in inside())
