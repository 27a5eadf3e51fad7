"""Cores of a job: every plan with every pair of source signatures, as slots of entries."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from math import prod
from typing import TYPE_CHECKING, Any

from matcher.rules.rule import FITS
from matcher.search.candidates.beside import Beside
from matcher.search.exact.entries import Entry, ListSlot, Slot
from matcher.search.exact.packages import Core
from matcher.search.feeds.amplifier_sources import AmplifierSide
from matcher.search.feeds.blocks import Blocks
from matcher.search.feeds.fed_slots import FeedSide
from matcher.search.feeds.groups import groups_of
from matcher.search.feeds.head_sources import HeadSide
from matcher.search.feeds.links import Line, Link, SourceSignature, inputs_of, line_codes, line_of, link_codes
from matcher.search.feeds.parts import NO_USE, AmplifierSignature, Candidate, HeadSignature, SpeakerSignature
from matcher.search.feeds.places import Places
from matcher.search.feeds.plans import Feed, Mode, Plan, Source, every_plan
from matcher.search.feeds.slots import AnySlot, ChoiceSlot
from matcher.search.fits.mounted import Tally
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.store.connection import Connection

if TYPE_CHECKING:
    from matcher.search.bass.cores import BassCores
    from matcher.search.bass.side import BassSide
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
    places: Places = field(init=False)
    codes: dict[Link, int] = field(default_factory=dict)
    lines: dict[Line, int] = field(init=False)
    """What they say of every line level that was asked about, in whichever question."""

    def __post_init__(self) -> None:
        self.plans = every_plan([place.fed for place in self.question.speakers], any(self._on_spots))
        places, doubt = self.question.speakers, self.scoring.unknown(True)
        self.places = Places(
            {name: groups_of(candidates, self.k, doubt) for name, candidates in self.speakers.items()},
            {place.opening_id: place.count for place in places},
            self.question.dash_id is None,
            self.nets_wanted,
        )
        blocks: Blocks = self.once(("blocks", self.scoring.hopeful), lambda: Blocks(self.scoring, self.codes))
        self.feeds = FeedSide(self.places, blocks, self._sources, self.scoring, self.k)
        self.amplifier_side = AmplifierSide(self.amplifiers, self.k)
        self.lines = self.once("lines", dict)
        self.head_side = HeadSide(self.heads, self.aids, self.k, self.lines)
        self._slots_beside: dict[bool, tuple[Slot, ...]] = {}
        self._arrangements = list(map(self._arrangement, self.plans))
        self._bass: BassCores | None = None
        if self.bass is not None:
            from matcher.search.bass.cores import BassCores, BassTable

            self._bass = BassCores(
                self.bass,
                self.amplifiers,
                BassTable(self.bass, self.scoring, self.codes),
                None if self.rooms is None else self.rooms(self.amplifiers),
            )

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
                    ways *= sum(
                        tally.ways * len(self.places.nets(name, signature, feed)) for signature, tally in tallies
                    )
            total += ways * prod(slot.ways for slot in self.beside)
        return total

    def ask_rules(self, con: Connection) -> None:
        """What the rules say of every link and every pairing of line levels, in two statements."""
        links = self.feeds.links(dict.fromkeys(feed for plan in self.plans for feed in plan.feeds))
        if self._bass is not None:
            links = links.union(self._bass.links())
        self.codes.update(link_codes(con, links.difference(self.codes), self.scoring.settings))
        self.feeds.told()
        # Of either side one stands for all that differ in nothing that their line hangs on.
        amps = list({inputs_of(amp): amp for amp in self.amplifier_side.alike}.values())
        pairs = {line_of(head, amp) for head in self.head_side.outputs for amp in amps}
        pairs |= set(() if self.aids is None else self.aids.lines(self.head_side.outputs, amps))
        self.lines.update(line_codes(con, sorted(pairs - self.lines.keys(), key=repr), self.scoring.settings))

    def _sources(self, source: Source, mode: Mode) -> Iterable[SourceSignature]:
        """Every block of a source, as it is to loudspeakers that are fed in a mode."""
        return self.head_side.blocks if source == "head_unit" else self.amplifier_side.by_feed(frozenset([mode]))

    def cores(self, *, sure: bool = False) -> Iterator[Core]:
        """Every core, in bundles; of sure entries only, where nothing may be left to measure."""
        for rank, plan in enumerate(self.plans):
            if self._bass is not None:
                yield self._bass.whole(self, rank, plan, sure=sure)
            elif plan.amplified:
                any_amplifier = self.amplifier_side.any_at_all(plan, sure)
                yield self.whole(rank, plan, (any_amplifier,), partial(self._bundles, rank, plan, sure), sure)
            else:
                for block in self.head_side.any_heads(plan, sure):
                    yield from self._plain(rank, plan, [(None, NO_AMPLIFIER)], sure, block)

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

    def _bundles(self, rank: int, plan: Plan, sure: bool) -> Iterator[Core]:
        """The cores of a plan, bundled where what feeds its loudspeakers is one to them, whatever the line level."""
        side = self.amplifier_side
        for fed, some in side.by_feed(plan.modes("amplifier")).items():
            amplifiers = [(amp, side.slot(amp, sure)) for amp in some]
            inside = partial(self._plain, rank, plan, amplifiers, sure)
            yield from self.bundles(rank, plan, fed, (side.any_of(plan, fed, sure),), inside, sure)

    def whole(
        self,
        rank: int,
        plan: Plan,
        slots: Sequence[Slot],
        bundles: Callable[[], Iterable[Core]],
        sure: bool,
    ) -> Core:
        """All bundles of a plan as one, fed by any block: `slots` hold the amplifiers and what else there is."""
        heads = AnySlot(list(self.head_side.any_heads(plan, sure).values()))
        feeds = (self.feeds.any_source(feed, sure) for feed in plan.feeds)
        return Core(
            points=self._most_aided,
            slots=(heads, *feeds, *slots, *self._beside(sure)),
            rank=rank,
            arrangement=(),
            what=Sources(plan, None, None, FITS),
            bundles=bundles,
        )

    @property
    def _most_aided(self) -> int:
        """The most that an accessory adds: with one a core costs no less than by itself, and draws no less."""
        return 0 if self.aids is None else self.aids.most_points

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
        for block, heads in self.head_side.any_heads(plan, sure).items():
            sources = Sources(plan, block, fed, FITS)
            yield Core(
                self._most_aided, self._slots(sources, heads, slots, sure), rank, (), sources, partial(inside, block)
            )

    def core(
        self,
        rank: int,
        plan: Plan,
        signatures: tuple[HeadSignature | None, AmplifierSignature | None, int],
        slots: Sequence[Slot],
        sure: bool,
    ) -> Core:
        """One core: a plan, the signatures of its sources and what is known of them, their slots and what else."""
        sources, (head, *others) = Sources(plan, *signatures), slots
        points = self.scoring.unknown(sources.code != FITS)
        return Core(points, self._slots(sources, head, others, sure), rank, self._arrangements[rank], sources)

    def _slots(self, sources: Sources, head: Slot, others: Iterable[Slot], sure: bool) -> tuple[Slot, ...]:
        """The slots of a head unit, of every feed from its source, of the amplifiers and what else there is."""
        feeds = (self.feeds.slot(feed, sources.of(feed), sure) for feed in sources.plan.feeds)
        return head, *feeds, *others, *self._beside(sure)

    def _beside(self, sure: bool) -> tuple[Slot, ...]:
        """The slots that no link concerns."""
        if sure not in self._slots_beside:
            some = (ChoiceSlot(slot.alternatives, self.k, sure) for slot in self.beside)
            self._slots_beside[sure] = tuple(some)
        return self._slots_beside[sure]

    def _arrangement(self, plan: Plan) -> tuple[int, ...]:
        """Head unit, openings in the vehicle's order, amplifier, what stands beside: two words each, of bass four."""
        shown = [name for feed in plan.feeds for name in feed.openings]
        more = len(self.beside) + (0 if self.bass is None else 2)
        beside = range(2 + len(shown), 2 + len(shown) + more)
        slots = [0, *(1 + shown.index(place.opening_id) for place in self.question.speakers), 1 + len(shown), *beside]
        return tuple(2 * slot + word for slot in slots for word in (0, 1))
