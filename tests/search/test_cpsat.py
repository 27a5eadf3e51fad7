"""Middling towns, too large to enumerate, against an integer model of the same job that knows none of our ways."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from random import Random

import pytest

from catalog_schema.jobs import Job
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.question import question_of
from tests.bench import brute
from tests.bench.one_join import Join
from tests.bench.plain import Plain
from tests.factories import Row
from tests.search.oracle import OPEN, Alone, Counter, half_up
from tests.search.second_model import NO, YES, Best, Feed, Instance, Part, SecondModel, Wire
from tests.search.shops import Settled, Store, drawn_job
from tests.soak import first

TIMES = 5
"""How many times the parts of a small town."""


class Told:
    """A job as an instance, worked out by the oracle's arithmetic."""

    def __init__(self, counter: Counter) -> None:
        self.counter = counter
        self.asked, self.counts = counter.places()
        self.heads = [(head, aid) for head in counter.heads() for aid in [None, *counter.aids(head.row or {})]]
        self.amplifiers = counter.amplifiers()
        self.places = {name: counter.speakers(name, count) for name, count in self.counts.items()}

    def instance(self) -> Instance:
        limits, counter = self.counter.job.limits, self.counter
        resting = limits.at_rest_ma.value if limits.at_rest_ma else counter.town.settings["at_rest_ma"]
        return Instance(
            heads=[self._head(place) for place in range(len(self.heads))],
            amplifiers=[self._part(one, place) for place, one in enumerate(self.amplifiers)],
            places={name: [self._part(one, at) for at, one in enumerate(some)] for name, some in self.places.items()},
            plans=list(counter.plans(list(self.asked), self.counts)),
            wires=self.wires,
            line=self.line,
            channels=self.channels,
            unknown=counter.lost(OPEN),
            plan_points=counter.plan_points,
            cents=None if limits.budget is None else half_up(Fraction(str(limits.budget)) * 100),
            uses=(math.floor(Fraction(str(resting)) * 1000),),
            block=lambda part: block_of(self.heads[part.kind][0].row),  # type: ignore[call-overload]
        )

    def _part(self, one: Alone, kind: int) -> Part:
        return Part(one.name, one.points, one.cents, (microamps(one),), kind)

    def _head(self, kind: int) -> Part:
        head, aid = self.heads[kind]
        bare = self._part(head, kind)
        if aid is None:
            return bare
        return bare._replace(
            name=(bare.name[0], f"{bare.name[1]}\x1f{aid.name[0]}"),
            points=bare.points + aid.points,
            cents=bare.cents + aid.cents,
            uses=(bare.uses[0] + microamps(aid),),
        )

    def line(self, part: Part, kind: object) -> int:
        head, aid = self.heads[part.kind]  # type: ignore[index]
        if kind is None:
            return YES if aid is None else NO
        have, amp = head.row or {}, self.amplifiers[kind].row or {}  # type: ignore[call-overload]
        if aid is not None and not self.counter.betters(have, amp, aid.row or {}):
            return NO
        return self.counter.line_level(have, amp, aid and aid.row)

    def channels(self, source: str, kind: object, taken: int) -> int:
        feeds = [(source, "pair", (), taken)]
        if source == "head_unit":
            return self.counter.sources(self.heads[kind][0].row, None, feeds)  # type: ignore[call-overload]
        have = (self.amplifiers[kind].row or {})["full_channels"]  # type: ignore[call-overload]
        return YES if have >= taken else NO

    def wires(self, name: str, feed: Feed) -> Iterator[Wire]:
        source, mode, places, _ = feed
        others = [other for other in places if other != name]
        for kind, row in self._sources(source):
            besides = {load for other in others for _, load, _ in self._nets(other, mode, row)} or {None}
            for one_kind, load, net in self._nets(name, mode, row):
                one = self.places[name][one_kind]
                for beside in besides:
                    code, points, *_ = self.counter.known_link(one, row, feed, net, beside)
                    yield Wire(one_kind, kind, load, beside, code, None, points)

    def _sources(self, source: str) -> Iterator[tuple[object, Row | None]]:
        if source == "amplifier":
            yield from ((kind, one.row) for kind, one in enumerate(self.amplifiers))
        else:
            yield from {block_of(head.row): head.row for head, _ in self.heads}.items()

    def _nets(self, name: str, mode: str, row: Row | None) -> Iterator[tuple[int, Fraction | None, tuple[object, int]]]:
        for kind, one in enumerate(self.places[name]):
            for net in self.counter.nets(one, self.counts[name], mode, row):
                yield kind, net[0], net


def block_of(row: Row | None) -> object:
    """What a feed asks of a head unit."""
    return None if row is None else (row.get("amp_w"), row.get("amp_min_ohm"))


def microamps(one: Alone) -> int:
    return int(Fraction(str((one.row or {}).get("standby_ma") or 0)) * 1000)


def solved(settled: Settled, job: Job) -> Best | None:
    return SecondModel(Told(Counter(settled.town, job)).instance()).best()


def drawn(settled: Settled, seed: int) -> Job:
    """A job of a middling town; every other has a budget somewhat under what the best without one costs."""
    draw = Random(seed)
    document = drawn_job(draw, ["bolt_on", "hidden_cut", "metal_cut"])
    found = settled.rank(settled.job(document), 1).found
    if found and draw.random() < 0.6:
        document["limits"]["budget"] = found[0].cents * draw.choice([70, 85, 100]) // 100 / 100
    return settled.job(document)


@pytest.mark.parametrize("seed", first(2, range(200, 208)))
def test_the_best_package_is_that_of_an_integer_model(store: Store, seed: int) -> None:
    settled = store.settle(seed, TIMES)
    job = drawn(settled, seed)
    found = settled.rank(job, 1).found
    got = Best(found[0].points, found[0].cents, found[0].name) if found else None
    assert got == solved(settled, job), (seed, job)


@pytest.mark.parametrize("seed", first(1, range(300, 303)))
def test_the_integer_model_agrees_on_small_towns(store: Store, seed: int) -> None:
    settled = store.settle(seed)
    job = drawn(settled, seed)
    found = settled.rank(job, 1).found
    got = Best(found[0].points, found[0].cents, found[0].name) if found else None
    assert got == solved(settled, job), (seed, job)


@pytest.mark.parametrize("seed", first(1, range(320, 323)))
def test_the_engines_of_the_benchmarks_find_the_same_score(store: Store, seed: int) -> None:
    """They get the shop's own candidates and rule codes, and combine them each in its own way."""
    settled = store.settle(seed)
    job = drawn(settled, seed)
    question = question_of(settled.catalog, job)
    instance = Plain(gather_field(settled.catalog, question, CandidatePass(1))).instance()
    found = settled.rank(job, 1).found
    points = found[0].points if found else None
    model = SecondModel(instance).best()
    assert (model and model.points, Join(instance).best(1), brute.best(instance)) == (points, points, points)
