"""Feeds: every loudspeaker in every net on every block, against plain enumeration; and bounds that hold all of it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from random import Random

import pytest

from matcher.rules.rule import FITS, MEASURE
from matcher.search.cores import Field
from matcher.search.exact.entries import MULTIPLIERS, Greatest, Slot, relaxed
from matcher.search.exact.lists import Lists
from matcher.search.exact.packages import Bounds, Core
from matcher.search.exact.patience import Patience
from matcher.search.feeds.blocks import level_cdb
from matcher.search.feeds.groups import GroupTop, crest_of
from matcher.search.feeds.links import Coils, Kind, SourceSignature, link_of
from matcher.search.feeds.parts import Candidate, SpeakerSignature, block_of, fed_by, head_signature
from matcher.search.feeds.plans import Feed
from matcher.search.fits.looks import Look
from matcher.search.gathering import gather_field
from matcher.search.options import bounds_of
from matcher.search.question import read_question
from tests.search.shops import Store, drawn_job
from tests.soak import first

EVERYTHING = 10**6
"""So many packages that nothing is left out as beaten."""
ANY = Kind(1, None, False)


@pytest.mark.parametrize(
    ("tops", "kept"),
    [
        ([], None),
        ([((5, 3), 90, 9)], [0]),
        ([((5, 3), 90, 9), ((4, 3), 80, 7)], [0]),  # outdone in all, but the cheaper
        ([((5, 3), 90, 9), ((5, 3), 90, 9)], [0]),
        ([((5, 3), 90, 9), ((4, 4), 80, 7)], [0, 1]),  # more where money counts
        ([((5, 3), 90, 9), ((4, 3), 95, 7)], [0, 1]),  # louder
        ([((5, 3), None, 9), ((4, 3), -200, 7)], [0, 1]),  # any level is more than none that is known
        ([((5, 3), 10, 9), ((4, 3), None, 7)], [0]),
    ],
)
def test_of_loudspeakers_of_one_kind_those_count_that_none_outdoes(
    tops: list[tuple[tuple[int, ...], int | None, int]], kept: list[int] | None
) -> None:
    made = [GroupTop(*top) for top in tops]
    crest = crest_of(ANY, made)
    assert (None if crest is None else crest.tops) == (None if kept is None else [made[at] for at in kept])
    assert crest is None or crest.cents == min(cents for *_, cents in tops)


def drawn_field(store: Store, seed: int) -> tuple[Field, Bounds]:
    """The field of a random job, of which nothing is left out, and its limits."""
    settled, draw = store.settle(seed, times=2), Random(seed)
    document = drawn_job(draw, ["bolt_on", "hidden_cut"], choose=["door", "shelf", "head_unit"], keep=[])
    document["limits"]["budget"] = draw.choice([None, 90, 150, 400])
    job = settled.job(document)
    question = read_question(store.con, job, settled.settings)
    return gather_field(settled.sweeps, question, Look(EVERYTHING)), bounds_of(question, job.limits.budget)


def ways(field: Field, feed: Feed, source: SourceSignature, sure: bool) -> dict[tuple[str, ...], int]:
    """The points of every loudspeaker, or pair of them, in its best nets on a block."""
    found: dict[tuple[str, ...], int] = {}
    for wired in product(*(list(nets(field, name, feed)) for name in feed.openings)):
        loads = [coils.load_ohm for _, _, coils in wired]
        points, name = 0, tuple(word for one, _, _ in wired for word in one.name)
        for at, (one, signature, coils) in enumerate(wired):
            link = link_of(source, feed.mode, coils, signature, loads[1 - at] if len(loads) == 2 else None)
            code = min(field.codes[link], MEASURE if one.unsure else FITS)
            if code not in ((FITS,) if sure else (FITS, MEASURE)):
                break
            doubt = 0 if one.unsure else field.scoring.unknown(code != FITS)
            aim = field.scoring.aim(link.power_w, link.rms_w)
            points += one.total_points + field.scoring.level(level_cdb(one, link)) + aim + doubt
        else:
            found[name] = max(points, found.get(name, points))
    return found


def nets(field: Field, name: str, feed: Feed) -> Iterator[tuple[Candidate, SpeakerSignature, Coils]]:
    """Every loudspeaker of a place in every net."""
    for one in field.speakers[name]:
        assert isinstance(one.signature, SpeakerSignature)
        for coils in field.places.nets(name, one.signature, feed):
            yield one, one.signature, coils


def fed_slots(field: Field) -> Iterator[tuple[Feed, SourceSignature]]:
    """Every feed from every source."""
    for feed in dict.fromkeys(feed for plan in field.plans for feed in plan.feeds):
        if feed.source == "head_unit":
            yield from ((feed, block_of(head_signature(one))) for one in field.heads)
        else:
            yield from ((feed, fed_by(amp, frozenset([feed.mode]))) for amp in field.amplifier_side.alike)


@pytest.mark.parametrize("seed", first(4, range(900, 940)))
def test_a_feed_holds_every_loudspeaker_that_the_rules_allow_at_its_best(store: Store, seed: int) -> None:
    field, _ = drawn_field(store, seed)
    for (feed, source), sure in product(fed_slots(field), (False, True)):
        slot = field.feeds.slot(feed, source, sure)
        assert {one.name: one.points for one in slot.entries} == ways(field, feed, source, sure), (feed, source)
        check_held(slot, slot.rough(MULTIPLIERS), [field.feeds.any_source(feed, sure).rough(MULTIPLIERS)])


def check_held(slot: Slot, top: Greatest | None, others: list[Greatest | None]) -> None:
    """Its entries are within its top, and its top within others."""
    assert (top is None) <= (not slot.entries)
    for one in slot.entries:
        assert top is not None
        assert all(value <= most for value, most in zip(relaxed(one.points, one.cents), top[0], strict=True))
        assert one.cents >= top[1]
    for other in others if top is not None else ():
        assert other is not None
        assert all(value <= most for value, most in zip(top[0], other[0], strict=True))
        assert other[1] <= top[1]


@pytest.mark.parametrize("seed", first(6, range(940, 980)))
@pytest.mark.parametrize("sure", [False, True])
def test_no_bundle_is_bounded_below_what_is_in_it(store: Store, seed: int, sure: bool) -> None:
    field, bounds = drawn_field(store, seed)
    lists = Lists(bounds, {}, lambda slot, multipliers: slot.rough(multipliers), Patience())
    bare = Lists(bounds, {}, lambda slot, multipliers: slot.bare(multipliers), Patience())

    def check(core: Core, above: float, bare_above: float) -> None:
        bound, least = lists.bound(core), bare.bound(core)
        if bound is not None:
            assert least is not None
            assert bound <= above
            assert max(bound, least) <= bare_above
        own = [float("-inf") if each is None else each for each in (bound, least)]
        for each in core.opened() if core.opened is not None else ():
            check(each, own[0], own[1] if core.bundles is not None else float("inf"))

    cores = list(field.cores(sure=sure))
    assert cores
    for core in cores:
        check(core, float("inf"), float("inf"))
