"""Parts of a package, in its order of listing."""

from __future__ import annotations

from matcher.search.feeds.parts import Candidate
from matcher.search.packages import Found, PackageCandidate

ORDER = (
    "head_unit",
    "speaker",
    "bass",
    "enclosure",
    "board",
    "amplifier",
    "bass_amplifier",
    "level_control",
    "cable",
    "accessory",
    "film",
    "security",
)
"""The order in which a package lists its slots."""


def fitted_of(found: Found) -> list[PackageCandidate]:
    """Return everything in a package: parts at openings, then accompanying parts, then independent slots."""
    chosen = found.fitted
    along = [PackageCandidate(more, unsure=more.unsure) for one in chosen for more in one.candidate.along]
    order = {name: place for place, name in enumerate(ORDER)}
    everything = [*chosen, *along]
    return sorted(everything, key=lambda one: (order[one.candidate.slot], str(one.candidate.opening_id)))


def filling(slot: str, fitted: list[PackageCandidate]) -> Candidate:
    """The part that fills a slot."""
    return next(one.candidate for one in fitted if one.candidate.slot == slot)
