"""Trade-offs: the loss that limits cause at an opening, against the best part that any alteration would allow.

The louder or lower part is evaluated on the package's own feed, so the gain is the audible one; its cost is the cut and
its material.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.answers import Needs, TradeOff
from catalog_schema.jobs import LADDER
from matcher.answers.fitted import fitted_of
from matcher.answers.packages import Describer
from matcher.rules.rule import NO
from matcher.search.candidates.beyond import speakers_beyond
from matcher.search.candidates.loudspeakers import at_place
from matcher.search.feeds.links import BlockLink, SourceSignature, level_cdb, link_codes, link_gain_cdb, link_of
from matcher.search.feeds.parts import Candidate, SpeakerSignature, speaker_signature
from matcher.search.field import RankingField
from matcher.search.packages import Found, PackageCandidate
from matcher.search.question import SpeakerPlace
from matcher.search.scoring import Scoring


@dataclass(frozen=True, slots=True)
class Rival:
    """A loudspeaker that requires more alteration, on the package's own feed."""

    candidate: Candidate
    link: BlockLink


def rivals_of(describer: Describer, field: RankingField, found: Found) -> Iterator[tuple[PackageCandidate, Rival]]:
    """Return the best loudspeaker with any alteration for each chosen place of a package, if it is better."""
    places = {place.opening_id: place for place in field.question.chosen}
    for one in fitted_of(found):
        place = places.get(str(one.candidate.opening_id))
        if place is None or one.link is None or one.candidate.part_id is None:
            continue
        rival = best_rival(describer, field, found, one, place)
        if rival is not None:
            yield one, rival


def best_rival(
    describer: Describer, field: RankingField, found: Found, one: PackageCandidate, place: SpeakerPlace
) -> Rival | None:
    """Return the loudspeaker with the most points for level and reach beyond the allowed step."""
    beyond = speakers_beyond(describer.catalog, field.question, place, field.scoring)
    assert one.feed is not None and one.link is not None
    source, others = found.sources.of(one.feed), [each for each in found.fitted if each.feed == one.feed]
    beside = next((each for each in others if each is not one and each.coils is not None), None)
    sharing = None if beside is None else (beside.coils, speaker_signature(beside.candidate))
    links_by_key: dict[object, list[tuple[SpeakerSignature, BlockLink]]] = describer.catalog.once(
        ("feeds beyond", field.question.job.vehicle_id, place),
        dict,
        ("speaker", "adapter", place.opening_id),
    )
    key = field.question.dash_id, source, one.feed.mode, sharing
    if key not in links_by_key:
        nets = [(each, links) for each in beyond.signatures for links in _links(field, source, one, each, beside)]
        codes = link_codes({link for _, links in nets for link in links}, describer.catalog.settings)
        links_by_key[key] = [(each, links[0]) for each, links in nets if all(codes[link] != NO for link in links)]
    best = beyond.best([(signature, link_gain_cdb(link)) for signature, link in links_by_key[key]])
    if best is None or best[0] <= _points(at_place(field.scoring, place), one.candidate, one.link):
        return None
    _, position, feed = best
    return Rival(beyond.candidate(position), links_by_key[key][feed][1])


def _links(
    field: RankingField,
    source: SourceSignature,
    one: PackageCandidate,
    signature: SpeakerSignature,
    beside: PackageCandidate | None,
) -> Iterator[list[BlockLink]]:
    """Return a rival's links in each coil wiring on the package's feed, with those of the others on that feed."""
    assert one.feed is not None
    mode, opening_id = one.feed.mode, str(one.candidate.opening_id)
    for coils in field.wirings(opening_id, signature, one.feed):
        if beside is None or beside.coils is None:
            yield [link_of(source, mode, coils, signature)]
        else:
            other = link_of(source, mode, beside.coils, speaker_signature(beside.candidate), coils.load_ohm)
            yield [link_of(source, mode, coils, signature, beside.coils.load_ohm), other]


def _points(scoring: Scoring, candidate: Candidate, link: BlockLink) -> int:
    return scoring.level(level_cdb(candidate, link)) + scoring.low(candidate.low_hz) + scoring.treble(candidate.high_hz)


def tradeoff(describer: Describer, one: PackageCandidate, rival: Rival) -> TradeOff:
    """Return the loss of a loudspeaker against its larger rival, and the alteration that the rival requires."""
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
