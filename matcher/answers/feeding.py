"""Feeds of a package: its links, and every rule evaluated on them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Check, Link
from matcher.answers.bass_feed import own_bass_of
from matcher.answers.fitted import filling, fitted_of
from matcher.answers.line_level import line_checks
from matcher.answers.sentences import Sentence
from matcher.formulas.line_level import gain_target_v
from matcher.rules.feed import FEED, ORIGINAL
from matcher.rules.rule import rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import LEAST_FIELD, CoilWiring, link_columns, power_wants
from matcher.search.feeds.links import BlockLink as SearchLink
from matcher.search.feeds.parts import HeadSignature
from matcher.search.packages import Found, PackageCandidate, Sources
from matcher.search.question import JobQuestion


def link_checks(catalog: Catalog, question: JobQuestion, found: Found) -> list[Check]:
    """Check every feed, and the line level between head unit and amplifier."""
    sources: Sources = found.sources
    fitted = fitted_of(found)
    checks = []
    for scope, original in ((FEED, False), (ORIGINAL, True)):
        fed = [one for one in fitted if one.link is not None and one.link.original == original]
        if fed:
            columns = link_columns([one.link for one in fed if one.link])
            checks_by_feed = catalog.explain(rules_of(scope), columns, len(fed))
            for one, some in zip(fed, checks_by_feed, strict=True):
                checks += [_link_check(check, question, one, sources, fitted) for check in some]
    if sources.amplifier is not None:
        checks += line_checks(catalog, filling("head_unit", fitted), filling("amplifier", fitted), "amplifier")
    return checks


def _link_check(
    check: Check, question: JobQuestion, one: PackageCandidate, sources: Sources, fitted: list[PackageCandidate]
) -> Check:
    feed = one.feed
    assert feed is not None and one.link is not None
    source = sources.of(feed) if feed.source != "bass_amplifier" else own_bass_of(fitted)
    figures_at = filling(feed.source, fitted).figures_at
    vehicle = question.job.vehicle_id
    originals = [
        f"opening:{vehicle}/{other.candidate.opening_id}.factory_ohm"
        for other in fitted
        if other.feed == feed and other.coils is not None and other.coils.load_ohm is None
    ]
    powers = power_wants(source, feed.mode, one.link.load_ohm)
    least = "amp_min_ohm" if isinstance(source, HeadSignature) else LEAST_FIELD[feed.mode]
    wants = {
        "feed.power_w": originals or [f"{figures_at}{field}" for field in powers],
        "feed.least_ohm": [f"{figures_at}{least}"],
        "feed.load_ohm": originals,
        "feed.rms_w": [f"{one.candidate.figures_at}rms_w"],
    }
    missing = [real for figure in check.missing for real in wants[figure]]
    return replace(check, about=str(one.candidate.opening_id), missing=missing)


def link_of_feed(one: PackageCandidate, fitted: list[PackageCandidate]) -> Link:
    """Return a feed as a link of the answer."""
    feed, link = one.feed, one.link
    assert feed is not None and link is not None and one.coils is not None
    return Link(
        from_=filling(feed.source, fitted).part_id or ORIGINAL_SOURCES[feed.source],
        to=[str(one.candidate.opening_id)],
        channels=channels_say(feed.mode, str(feed.channels), one.coils.net),
        load_ohm=link.load_ohm,
        power_w=link.power_w if link.power_w is None or one.bass is None else link.power_w / one.bass.drivers,
        slot=feed.source,
        mode=feed.mode,
        count=feed.channels,
        net=one.coils.net,
        beside=[name for name in feed.openings if name != one.candidate.opening_id],
        target_v=target_v(link, one.coils),
    )


def target_v(link: SearchLink, coils: CoilWiring) -> Decimal | None:
    """Return the voltage that gives a loudspeaker the power of its feed, at most its rated power."""
    if link.power_w is None:
        return None
    power = link.power_w if link.rms_w is None else min(link.power_w, link.rms_w)
    # If each channel drives coils of its own, its voltage produces only its share of the power.
    volts = gain_target_v(float(power / coils.blocks), None if coils.load_ohm is None else float(coils.load_ohm))
    return None if volts is None else round(Decimal(str(volts)), 2)


ORIGINAL_SOURCES = {"head_unit": "the original head unit", "amplifier": "the original amplifier"}
"""Factory equipment that feeds loudspeakers, as named in an answer."""
HOW = {
    "pair": "{count} channels, a pair",
    "bridged": "{count} channels, bridged",
    "shared": "{count} channels, a pair, shared in parallel",
    "bass": "{count} channel for bass",
}
"""Texts for the ways in which a feed uses its channels."""


def channels_say(mode: str, count: str, net: str) -> str:
    """Describe a feed's channels, their use, and the wiring of the coils on them."""
    coils = "one coil" if net == "1" else net  # a single coil can be wired only one way
    return Sentence("{how}; {net}", how=Sentence(HOW[mode], count=count), net=coils)
