"""Amplifier channels used by the bass of a package, and notes on its box."""

from __future__ import annotations

from matcher.answers import messages_bass as says
from matcher.search.bass.made import is_priced
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import AmplifierSignature, amplifier_signature
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion


def bass_figures(fitted: list[PackageCandidate]) -> dict[str, int | None]:
    """Return the channels that the bass feed uses and those that its amplifier has, for the rules of a package."""
    one = next((one for one in fitted if one.bass is not None and one.feed is not None), None)
    figures: dict[str, int | None] = {"bass_channels": None, "bass_used": 0, "own_channels": None, "own_used": 0}
    if one is None or one.feed is None:
        return figures
    source = one.feed.source
    signature = amplifier_signature(next(each.candidate for each in fitted if each.candidate.slot == source))
    if one.feed.mode == "bass":
        figures |= {"bass_channels": signature.bass_channels, "bass_used": one.feed.channels}
    elif source == "bass_amplifier":
        figures |= {"own_channels": signature.channels, "own_used": one.feed.channels}
    return figures


def bridged_beside(fitted: list[PackageCandidate]) -> int:
    """Return the full-range channels of the loudspeakers' amplifier that the bass uses."""
    feeds = [one.feed for one in fitted if one.bass is not None and one.feed is not None]
    return sum(feed.channels for feed in feeds if feed.source == "amplifier" and feed.mode == "bridged")


def bass_warnings(catalog: Catalog, question: JobQuestion, fitted: list[PackageCandidate]) -> list[str]:
    """Return warnings about a heavy box, and about one without a price of the shop."""
    if not question.bass_names:
        return []
    made = any(one.bass is not None and one.bass.shape is not None for one in fitted)
    return [says.LIFT, says.LEVEL, *([says.UNPRICED] if made and not is_priced(catalog.settings) else [])]


def own_bass_of(fitted: list[PackageCandidate]) -> AmplifierSignature:
    """Return the amplifier for bass alone."""
    return amplifier_signature(next(one.candidate for one in fitted if one.candidate.slot == "bass_amplifier"))


def bass_source(fitted: list[PackageCandidate]) -> str | None:
    """Return the amplifier that drives the bass, if there is any bass."""
    source = next((one.feed.source for one in fitted if one.bass is not None and one.feed is not None), None)
    return next((one.candidate.part_id for one in fitted if one.candidate.slot == source), None)
