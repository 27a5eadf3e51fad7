"""A job of the shop in plain numbers, for engines that know nothing of the ranking.

Candidates and what the rules say of links and lines are the shop's own; what may be taken together, what it adds up to
and which whole is best is the engine's business. Parts that the sweep already leaves out, because so many others
always beat them, are left out here too: that favors the others.
"""

from __future__ import annotations

import sys
from collections.abc import Hashable, Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # the tests' own packages, when run by hand

from matcher import Shop
from matcher.kernel.columns import columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.feed import FEED, ORIGINAL
from matcher.rules.rule import DELAYS, FITS, NO, rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import BlockLink, channels_code, link_gain_cdb, link_of
from matcher.search.feeds.parts import Candidate, amplifier_signature, block_of, head_signature, speaker_signature
from matcher.search.feeds.plans import Feed as PlanFeed
from matcher.search.field import RankingField
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.question import question_of
from matcher.search.ranking import tree_of
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from tests.search.second_model import Feed, Instance, Part, Wire


class Plain:
    """A field of candidates as an instance."""

    def __init__(self, field: RankingField) -> None:
        self.field = field
        self._links: dict[BlockLink, int] = {}
        self.amps = list(dict.fromkeys(map(amplifier_signature, field.amplifiers)))
        self.codes: dict[Hashable, dict[tuple[str, str], int]] = {None: {one.name: FITS for one in field.heads}}
        heads = {one.name: one for one in field.heads}
        line_code, aids = tree_of(field).reader.line_code, field.aids
        needs = set() if aids is None else set(aids.needs)
        for amp in self.amps:
            bare = {one: line_code(one, amp, None) for one in map(head_signature, field.heads)}
            lined = [(one, bare[head_signature(one)]) for one in field.heads]
            for one in field.heads if aids is not None else ():
                has = None if one.features is None else tuple(sorted(one.features & needs))
                for makes, table in zip(aids.signatures, aids.offered(has), strict=True):
                    if (code := line_code(head_signature(one), amp, makes)) > bare[head_signature(one)]:
                        lined += [(replace(one, along=(*one.along, aid)), code) for aid in table.candidates]
            heads |= {one.name: one for one, _ in lined}
            self.codes[amp] = {one.name: code for one, code in lined}
        self.heads = list(heads.values())
        self.feeds = {_plain(feed): feed for plan in field.plans for feed in plan.feeds}

    def instance(self) -> Instance:
        """The instance."""
        field = self.field
        bounds = sum_limits(field.question, field.question.job.limits.budget)
        return Instance(
            heads=[_part(one, head_signature(one)) for one in self.heads],
            amplifiers=[_part(one, amplifier_signature(one)) for one in field.amplifiers],
            places={name: [self._speaker(one) for one in some] for name, some in field.speakers.items()},
            plans=[[_plain(feed) for feed in plan.feeds] for plan in field.plans],
            wires=self.wires,
            line=lambda part, kind: self.codes[kind].get(part.name, NO),
            channels=lambda _, kind, taken: channels_code(kind, taken),  # type: ignore[arg-type]
            unknown=-field.scoring.unknown(DELAYS),
            cents=bounds.cents,
            uses=bounds.uses,
            plan_points=lambda feeds: sum(self.feeds[feed].has_no_fader for feed in feeds) * field.scoring.shared,
            block=lambda part: block_of(part.kind),  # type: ignore[arg-type]
            level_points=field.scoring.level,
        )

    def _speaker(self, one: Candidate) -> Part:
        more = -self.field.scoring.unknown_beside(DELAYS, one.code)
        return _part(one, speaker_signature(one))._replace(more=more, most_cdb=one.travel_cdb)

    def wires(self, name: str, plain: Feed) -> Iterator[Wire]:
        """Every kind of loudspeaker of a place in every net on every block that a feed may come from."""
        field, feed = self.field, self.feeds[plain]
        sources: list[Any] = self.amps
        if feed.source == "head_unit":
            sources = list(dict.fromkeys(block_of(head_signature(one)) for one in field.heads))
        others = [other for other in feed.openings if other != name]
        besides: list[Any] = [None]
        if others:
            signatures = dict.fromkeys(map(speaker_signature, field.speakers[others[0]]))
            nets = (coils for one in signatures for coils in field.wirings(others[0], one, feed))
            besides = list(dict.fromkeys(coils.load_ohm for coils in nets))
        for signature in dict.fromkeys(map(speaker_signature, field.speakers[name])):
            for coils, source, beside in product(field.wirings(name, signature, feed), sources, besides):
                link = link_of(source, feed.mode, coils, signature, beside)
                yield Wire(signature, source, coils.load_ohm, beside, self._code(link), link_gain_cdb(link), 0)

    def _code(self, link: BlockLink) -> int:
        """What the rules say of a link."""
        if link not in self._links:
            names = ("load_ohm", "least_ohm", "power_w", "rms_w")
            columns = columns_of("feed", [{one: getattr(link, one) for one in names}])
            rules = rules_of(ORIGINAL if link.original else FEED)
            self._links[link] = int(worst(rules, Evaluation(columns, self.field.scoring.settings)).ravel()[0])
        return self._links[link]


def _plain(feed: PlanFeed) -> Feed:
    return (feed.source, feed.mode, feed.openings, feed.channels)


def _part(one: Candidate, kind: Hashable) -> Part:
    return Part(one.name, one.total_points, one.cents, one.uses, kind, one.level_cdb)


def instance_of(store: Path, job: str) -> Instance:
    """A job of a store as an instance."""
    with Shop(store).store.reading() as con:
        catalog = Catalog(con, shop_settings(con))
        question = question_of(catalog, stored_job(con, job))
        return Plain(gather_field(catalog, question, CandidatePass(10))).instance()
