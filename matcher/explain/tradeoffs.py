"""Trade-offs: what the limits give up at an opening, against the best that any alteration would allow.

The louder or lower part is asked on the very feed of the package, so the gain is what the customer
would hear; what it takes is the cut and its material.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.answers import Needs, TradeOff
from catalog_schema.jobs import LADDER
from matcher.explain.fitted import fitted_of
from matcher.explain.packages import Describer
from matcher.rules.rule import NO
from matcher.search.candidates.beyond import speakers_beyond
from matcher.search.feeds.links import Link, level_cdb, link_codes, link_gain_cdb, link_of
from matcher.search.feeds.parts import Candidate, SpeakerSignature, speaker_signature
from matcher.search.field import Field
from matcher.search.packages import Fitted, Found, Sources
from matcher.search.question import SpeakerPlace


@dataclass(frozen=True, slots=True)
class Rival:
    """A loudspeaker that would take more alteration, on the package's own feed."""

    candidate: Candidate
    link: Link
    points: int


def rivals_of(describer: Describer, field: Field, found: Found) -> Iterator[tuple[Fitted, Rival]]:
    """For each chosen loudspeaker place of a package: the best that any alteration would allow, if it is better."""
    places = {place.opening_id: place for place in field.question.chosen}
    for one in fitted_of(found):
        place = places.get(str(one.candidate.opening_id))
        if place is None or one.link is None or one.candidate.part_id is None:
            continue
        rival = best_rival(describer, field, found, one, place)
        if rival is not None:
            yield one, rival


def best_rival(describer: Describer, field: Field, found: Found, one: Fitted, place: SpeakerPlace) -> Rival | None:
    """The loudspeaker with most points for level and reach, beyond the step that is allowed."""
    beyond = speakers_beyond(describer.catalog, field.question, place, field.scoring, field.k)
    nets = {signature: _links(field, found, one, signature) for signature in beyond.signatures}
    every = [link for some in nets.values() for links in some for link in links]
    codes: dict[Link, int] = describer.catalog.once("link codes", dict)
    codes.update(link_codes(set(every) - codes.keys(), describer.catalog.settings))
    allowed = [
        (signature, links[0])
        for signature, some in nets.items()
        for links in some
        if all(codes[link] != NO for link in links)
    ]
    best = beyond.best({(signature, link_gain_cdb(link)) for signature, link in allowed})
    found_there = ((best[signature, link_gain_cdb(link)], link) for signature, link in allowed)
    rivals = [Rival(rival, link, _points(field, rival, link)) for rival, link in found_there]
    assert one.link is not None
    own = _points(field, one.candidate, one.link)
    better = [rival for rival in rivals if rival.points > own]
    return min(better, key=lambda rival: (-rival.points, rival.candidate.cents, rival.candidate.name), default=None)


def _links(field: Field, found: Found, one: Fitted, signature: SpeakerSignature) -> list[list[Link]]:
    """A rival in each net on the feed that the package has there: its link, and that of what shares the feed."""
    sources: Sources = found.sources
    feed = one.feed
    assert feed is not None
    source, opening_id = sources.of(feed), str(one.candidate.opening_id)
    beside = next((other for other in fitted_of(found) if other.feed == feed and other is not one), None)
    beside_ohm = None if beside is None or beside.coils is None else beside.coils.load_ohm
    made = []
    for coils in field.wirings(opening_id, signature, feed):
        links = [link_of(source, feed.mode, coils, signature, beside_ohm)]
        if beside is not None and beside.coils is not None:
            other = speaker_signature(beside.candidate)
            links.append(link_of(source, feed.mode, beside.coils, other, coils.load_ohm))
        made.append(links)
    return made


def _points(field: Field, candidate: Candidate, link: Link) -> int:
    return field.scoring.level(level_cdb(candidate, link)) + field.scoring.low(candidate.low_hz)


def tradeoff(describer: Describer, one: Fitted, rival: Rival) -> TradeOff:
    """What a loudspeaker of a package gives up against its rival, and what that would take."""
    instead, fit = rival.candidate, describer.fit(rival.candidate)
    assert fit is not None and one.link is not None and instead.part_id is not None and instead.opening_id is not None
    return TradeOff(
        opening_id=instead.opening_id,
        chosen=one.candidate.part_id,
        instead=instead.part_id,
        needs=Needs(alteration=LADDER[instead.step], cut=fit.cut),
        gains_db=_difference_db(level_cdb(instead, rival.link), level_cdb(one.candidate, one.link)),
        gains_hz=None if None in (one.candidate.low_hz, instead.low_hz) else one.candidate.low_hz - instead.low_hz,  # type: ignore[operator]
        price=Decimal(instead.cents - one.candidate.cents) / 100,
    )


def _difference_db(rival_cdb: int | None, own_cdb: int | None) -> Decimal | None:
    if rival_cdb is None or own_cdb is None:
        return None
    return Decimal(rival_cdb - own_cdb) / 100
