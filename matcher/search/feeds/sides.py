"""One place on one block: what its loudspeakers bring at most, what each has to bring, and as entries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from matcher.rules.rule import FITS
from matcher.search.exact.entries import MULTIPLIERS, SCALE, Entry, Greatest, Values, brings
from matcher.search.feeds.blocks import Block, Terms
from matcher.search.feeds.groups import GroupTop
from matcher.search.feeds.links import Load
from matcher.search.feeds.parts import NO_USE, alike
from matcher.search.feeds.places import Net, Wiring
from matcher.search.feeds.plans import Feed
from matcher.search.feeds.slots import Fitted, entry_of
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.fits.looks import Needs


class Side:
    """The loudspeakers of a place on a block. Everything is asked at a load of theirs, beside another on the block."""

    def __init__(self, opening_id: str, wiring: Wiring, block: Block, scoring: Scoring, sure: bool) -> None:
        self._opening_id, self._wiring, self._block = opening_id, wiring, block
        self._scoring, self._sure = scoring, sure
        self._tops: dict[tuple[Load, Load, Sequence[int]], Greatest | None] = {}
        self.loads = list(wiring.by_load)
        """Every load that they may put on the block."""

    def top(self, own: Load, beside: Load, multipliers: Sequence[int]) -> Greatest | None:
        """What they add at most: of each kind the greatest value alone and the greatest level, taken together."""
        key = (own, beside, multipliers)
        if key not in self._tops:
            self._tops[key] = self._read_top(*key)
        return self._tops[key]

    def _read_top(self, own: Load, beside: Load, multipliers: Sequence[int]) -> Greatest | None:
        found: list[list[int]] = []
        cents: list[int] = []
        allowed = self._block.terms(own, beside)
        for crest in self._wiring.crests(own, multipliers, self._sure):
            terms = allowed.get(crest.kind)
            if terms is not None and self._counts(terms):
                cents.append(crest.cents)
                for top in crest.tops:
                    lift = SCALE * terms.earned(top.loudest_cdb, self._scoring)
                    found.append([value + lift for value in top.values])
        return (tuple(map(max, zip(*found, strict=True))), min(cents), NO_USE) if found else None

    def tell(self, own: Load, beside: Load, need: Values, needs: Needs) -> None:
        """Take down what is left to each group to bring by itself."""
        for net, terms, top in self._nets(own, beside):
            told = alike(self._wiring.groups[net.group][0])
            needs.take(self._opening_id, told, [value - SCALE * terms.earned(None, self._scoring) for value in need])
            if terms.gain_cdb is not None and top.loudest_cdb is not None:
                lift = SCALE * terms.earned(top.loudest_cdb, self._scoring)
                needs.take(self._opening_id, told, [value - lift for value in need], top.loudest_cdb)

    def entries(self, feed: Feed, own: Load, beside: Load, need: Values) -> Iterator[Entry]:
        """Those that bring so much, in each net that the rules allow."""
        for net, terms, top in self._nets(own, beside):
            lift = SCALE * terms.earned(top.loudest_cdb, self._scoring)
            if all(value + lift >= least for value, least in zip(top.values, need, strict=True)):
                yield from self._group_entries(feed, net, terms, need)

    def _counts(self, terms: Terms) -> bool:
        """Whether a link may stand in what is asked."""
        return not self._sure or terms.code == FITS

    def _nets(self, own: Load, beside: Load) -> Iterator[tuple[Net, Terms, GroupTop]]:
        """Each group in each net that the rules allow, with what it has at most; none that has no member."""
        tops, allowed = self._wiring.tops(MULTIPLIERS, self._sure), self._block.terms(own, beside)
        for kind, nets in self._wiring.by_load[own].items():
            terms = allowed.get(kind)
            if terms is not None and self._counts(terms):
                for net in nets:
                    top = tops[net.group]
                    if top is not None:
                        yield net, terms, top

    def _group_entries(self, feed: Feed, net: Net, terms: Terms, need: Values) -> Iterator[Entry]:
        unsure = terms.code != FITS
        doubt = self._scoring.unknown(unsure)
        for one in self._wiring.groups[net.group][1]:
            if self._sure and one.unsure:
                continue
            known, earned = 0 if one.unsure else doubt, terms.earned(one.level_cdb, self._scoring)
            if brings(one.total_points + known + earned, one.cents, need):
                points = (("loudness", earned), ("known", known))
                yield entry_of((Fitted(one, feed, net.coils, terms.link, one.unsure or unsure, points),))
