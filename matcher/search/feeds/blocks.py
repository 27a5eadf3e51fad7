"""What blocks do with loudspeakers: every link that a field may need, with what the rules say of it and what it gives.

It hangs on figures alone, not on parts, places or wishes: what was read serves every field of every question.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from matcher.rules.rule import NO
from matcher.search.feeds.links import Kind, Link, Load, Loads, SourceSignature, links_at
from matcher.search.feeds.parts import Candidate
from matcher.search.feeds.plans import Mode
from matcher.search.scoring import Scoring, gain_cdb


def link_gain_cdb(link: Link) -> int | None:
    """What the feed's power adds to the level at 1 W, in hundredths of a decibel.

    A loudspeaker takes no more than its rating, however strong the amplifier.
    """
    if link.power_w is None or link.power_w <= 0:
        return None
    rated = link.rms_w
    return gain_cdb(link.power_w if rated is None or not rated else min(link.power_w, rated))


def level_cdb(one: Candidate, link: Link) -> int | None:
    """Level at 1 m that a loudspeaker reaches on its feed, in hundredths of a decibel."""
    gain = link_gain_cdb(link)
    return None if one.level_cdb is None or gain is None else one.level_cdb + gain


def hoped(link: Link, scoring: Scoring) -> Link:
    """A link as it is; where a power that nobody knows is to be hoped for, with all that its loudspeaker takes."""
    if not scoring.hopeful or link.power_w is not None or link.rms_w is None:
        return link
    return replace(link, power_w=link.rms_w * max(Decimal(1), scoring.settings["power_aim_least"]))


class Terms(NamedTuple):
    """A link that the rules allow: what they say of it, and what it gives."""

    link: Link
    code: int
    gain_cdb: int | None
    """What the power adds to the level at 1 W; none where that is not known."""
    in_aim: bool
    """Whether the power lies within the aim."""

    def earned(self, level_cdb: int | None, scoring: Scoring) -> int:
        """Points of a loudspeaker by its level at 1 W; none: whatever it is, for the power alone."""
        aim = scoring.aimed if self.in_aim else 0
        return aim if level_cdb is None or self.gain_cdb is None else scoring.level(level_cdb + self.gain_cdb) + aim


class Blocks:
    """Every block that was asked about, by its signature and how its channels are used."""

    def __init__(self, scoring: Scoring, codes: Mapping[Link, int]) -> None:
        self._scoring, self._codes = scoring, codes  # of the points only what no wish weighs
        self._blocks: dict[tuple[SourceSignature, Mode], Block] = {}
        self.unasked: set[Link] = set()
        """The links of all that may stand on any of them, until what the rules say of them is told."""

    def block(self, source: SourceSignature, mode: Mode) -> Block:
        """One of them."""
        key = (source, mode)
        if key not in self._blocks:
            self._blocks[key] = Block(self, source, mode)
        return self._blocks[key]

    def terms(self, link: Link) -> Terms | None:
        """What comes of a link; none where the rules refuse it."""
        code = self._codes[link]
        if code == NO:
            return None
        fed = hoped(link, self._scoring)
        return Terms(link, code, link_gain_cdb(fed), self._scoring.in_aim(fed.power_w, fed.rms_w))


class Block:
    """A block, and what it does with each kind of loudspeaker at each load."""

    def __init__(self, blocks: Blocks, source: SourceSignature, mode: Mode) -> None:
        self._blocks, self._source, self._mode = blocks, source, mode
        self._links: dict[tuple[Load, Load], dict[Kind, Link]] = {}
        self._terms: dict[tuple[Load, Load], dict[Kind, Terms]] = {}

    def stand(self, loads: Loads) -> None:
        """Take down the links of what may stand on it."""
        for (own, beside), kinds in loads.items():
            held = self._links.setdefault((own, beside), {})
            if new := kinds - held.keys():
                made = links_at(self._source, self._mode, own, beside, new)
                self._blocks.unasked.update(made.values())
                held |= made
                self._terms.pop((own, beside), None)

    def terms(self, own: Load, beside: Load) -> dict[Kind, Terms]:
        """What comes of each kind at a load, beside another one on the block; nothing of what the rules refuse."""
        if (own, beside) not in self._terms:
            made = ((kind, self._blocks.terms(link)) for kind, link in self._links[own, beside].items())
            self._terms[own, beside] = {kind: terms for kind, terms in made if terms is not None}
        return self._terms[own, beside]
