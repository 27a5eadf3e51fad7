"""Loudspeaker places as blocks see them: who may stand there, in which nets, at which loads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import product
from typing import NamedTuple

from matcher.search.feeds.groups import Crest, Group, GroupTop, crest_of, group_top
from matcher.search.feeds.links import Coils, Kind, Load, Loads, coil_nets, kind_of
from matcher.search.feeds.parts import SpeakerSignature
from matcher.search.feeds.plans import Feed, Mode, Source


class Net(NamedTuple):
    """A group of a place, by its position, in one net."""

    group: int
    coils: Coils


Tops = Callable[[Sequence[int], bool], Sequence[GroupTop | None]]
"""What each group has at most, by multiplier; of its sure members only, where nothing may be unsure."""


class Wiring:
    """Every group of one place in every net that one source allows: by load, and by what else a block sees of it."""

    def __init__(self, groups: Sequence[Group], nets: Iterable[Net], tops: Tops) -> None:
        self.groups, self.tops = groups, tops
        self._crests: dict[tuple[Load, Sequence[int], bool], list[Crest]] = {}
        found: dict[Load, dict[Kind, list[Net]]] = {}
        for net in nets:
            kind = kind_of(net.coils, groups[net.group][0])
            found.setdefault(net.coils.load_ohm, {}).setdefault(kind, []).append(net)
        self.by_load = dict(sorted(found.items(), key=lambda item: (item[0] is None, item[0])))

    def crests(self, load: Load, multipliers: Sequence[int], sure: bool) -> list[Crest]:
        """What the loudspeakers of each kind have at most at a load; nothing of a kind that has no member."""
        key = (load, multipliers, sure)
        if key not in self._crests:
            tops = self.tops(multipliers, sure)
            some = ((kind, [tops[net.group] for net in nets]) for kind, nets in self.by_load[load].items())
            crests = (crest_of(kind, [top for top in each if top is not None]) for kind, each in some)
            self._crests[key] = [crest for crest in crests if crest is not None]
        return self._crests[key]


@dataclass
class Places:
    """The loudspeaker places of a job with their candidates."""

    groups: Mapping[str, list[Group]]
    """By opening, of one signature each."""
    counts: Mapping[str, int]
    """By opening: how many loudspeakers it takes."""
    untouched: bool
    """Whether the head unit stays, and an original on it as it was."""
    nets_wanted: Mapping[str, str]
    """By opening: the coil net that alone is looked at."""
    _wirings: dict[object, Wiring] = field(default_factory=dict)
    _tops: dict[object, list[GroupTop | None]] = field(default_factory=dict)

    def nets(self, opening_id: str, signature: SpeakerSignature, feed: Feed) -> list[Coils]:
        """The coil nets of a loudspeaker at a place on a feed."""
        count = self.counts[opening_id]
        untouched = signature.original and self.untouched and feed.source == "head_unit"
        if untouched and count == 1 and feed.mode == "pair":
            return [Coils("as it was", signature.impedance_ohm, 1)]
        wanted = self.nets_wanted.get(opening_id)
        return [one for one in coil_nets(signature, count, feed.mode) if wanted in (None, one.net)]

    def wiring(self, opening_id: str, feed: Feed) -> Wiring:
        """How a place may be wired on a feed; one to all feeds on which that is the same."""
        asked = (opening_id, feed.source, feed.mode)
        if asked not in self._wirings:
            groups = self.groups[opening_id]
            numbered = enumerate(signature for signature, _ in groups)
            nets = tuple(Net(at, coils) for at, one in numbered for coils in self.nets(opening_id, one, feed))
            tops = partial(self._group_tops, opening_id)
            self._wirings[asked] = self._wirings.setdefault((opening_id, nets), Wiring(groups, nets, tops))
        return self._wirings[asked]

    def _group_tops(self, opening_id: str, multipliers: Sequence[int], sure: bool) -> Sequence[GroupTop | None]:
        key = (opening_id, multipliers, sure)
        if key not in self._tops:
            groups = (members for _, members in self.groups[opening_id])
            kept = ([one for one in members if not (sure and one.unsure)] for members in groups)
            self._tops[key] = [group_top(members, multipliers) for members in kept]
        return self._tops[key]

    def loads(self, feeds: Iterable[Feed]) -> dict[tuple[Source, Mode], Loads]:
        """What may stand on the blocks of some feeds, by their source and how it is used."""
        found: dict[tuple[Source, Mode], Loads] = {}
        for feed in feeds:
            some = found.setdefault((feed.source, feed.mode), {})
            wirings = [self.wiring(name, feed) for name in feed.openings]
            for own, others in zip(wirings, reversed(wirings), strict=True):
                besides: Iterable[Load] = others.by_load if len(wirings) > 1 else [None]
                for load, beside in product(own.by_load, besides):
                    some.setdefault((load, beside), set()).update(own.by_load[load])
        return found
