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
from matcher.rules.rule import FITS, NO
from matcher.search.cores import Field
from matcher.search.feeds.blocks import link_gain_cdb
from matcher.search.feeds.links import channels_code, line_of, link_of
from matcher.search.feeds.parts import (
    Candidate,
    amplifier_signature,
    amplifiers_alike,
    block_of,
    head_signature,
    speaker_signature,
)
from matcher.search.feeds.plans import Feed as PlanFeed
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.gathering import gather_field
from matcher.search.options import bounds_of
from matcher.search.question import read_question
from matcher.shop.base import shop_settings
from matcher.store.documents import stored_job
from tests.search.second_model import Feed, Instance, Part, Wire


class Plain:
    """A field of candidates as an instance."""

    def __init__(self, field: Field) -> None:
        self.field = field
        self.amps = list(amplifiers_alike(field.amplifiers))
        self.codes: dict[Hashable, dict[tuple[str, str], int]] = {None: {one.name: FITS for one in field.heads}}
        heads = {one.name: one for one in field.heads}
        for amp in self.amps:
            lined = [(one, field.lines[line_of(head_signature(one), amp)]) for one in field.heads]
            helped = () if field.aids is None else field.aids.helped(field.heads, field.head_side.told([amp]))
            for some in helped:
                pairs = product(some.heads, some.aids)
                lined += [(replace(head, along=(*head.along, aid)), some.code) for head, aid in pairs]
            heads |= {one.name: one for one, _ in lined}
            self.codes[amp] = {one.name: code for one, code in lined}
        self.heads = list(heads.values())
        self.feeds = {_plain(feed): feed for plan in field.plans for feed in plan.feeds}

    def instance(self) -> Instance:
        """The instance."""
        field = self.field
        bounds = bounds_of(field.question, field.question.job.limits.budget)
        return Instance(
            heads=[_part(one, head_signature(one)) for one in self.heads],
            amplifiers=[_part(one, amplifier_signature(one)) for one in field.amplifiers],
            places={
                name: [_part(one, speaker_signature(one)) for one in some] for name, some in field.speakers.items()
            },
            plans=[[_plain(feed) for feed in plan.feeds] for plan in field.plans],
            wires=self.wires,
            line=lambda part, kind: self.codes[kind].get(part.name, NO),
            channels=lambda _, kind, taken: channels_code(kind, taken),  # type: ignore[arg-type]
            unknown=-field.scoring.unknown(True),
            cents=bounds.cents,
            uses=bounds.uses,
            block=lambda part: block_of(part.kind),  # type: ignore[arg-type]
            level_points=field.scoring.level,
        )

    def wires(self, name: str, plain: Feed) -> Iterator[Wire]:
        """Every kind of loudspeaker of a place in every net on every block that a feed may come from."""
        field, feed = self.field, self.feeds[plain]
        sources: list[Any] = self.amps
        if feed.source == "head_unit":
            sources = list(dict.fromkeys(block_of(head_signature(one)) for one in field.heads))
        others = [other for other in feed.openings if other != name]
        besides = field.places.wiring(others[0], feed).by_load if others else [None]
        for signature, _ in field.places.groups[name]:
            for coils in field.places.nets(name, signature, feed):
                for source in sources:
                    for beside in besides:
                        link = link_of(source, feed.mode, coils, signature, beside)
                        aim = field.scoring.aim(link.power_w, link.rms_w)
                        code = field.codes[link]
                        yield Wire(signature, source, coils.load_ohm, beside, code, link_gain_cdb(link), aim)


def _plain(feed: PlanFeed) -> Feed:
    return (feed.source, feed.mode, feed.openings, feed.channels)


def _part(one: Candidate, kind: Hashable) -> Part:
    return Part(one.name, one.total_points, one.cents, one.uses, kind, one.level_cdb, not one.unsure)


def instance_of(store: Path, job: str) -> Instance:
    """A job of a store as an instance."""
    with Shop(store).store.reading() as con:
        sweeps = Sweeps(con, shop_settings(con))
        question = read_question(con, stored_job(con, job), sweeps.settings)
        return Plain(gather_field(sweeps, question, Look(10))).instance()
