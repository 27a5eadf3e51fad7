"""Parts of a package, in the order in which it lists them."""

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
"""The slots in the order in which a package lists them."""


def fitted_of(found: Found) -> list[PackageCandidate]:
    """Everything in a package: what stands at openings, what comes along with it, then what stands beside."""
    chosen = found.fitted
    along = [PackageCandidate(more, unsure=more.unsure) for one in chosen for more in one.candidate.along]
    order = {name: place for place, name in enumerate(ORDER)}
    everything = [*chosen, *along]
    return sorted(everything, key=lambda one: (order[one.candidate.slot], str(one.candidate.opening_id)))


def filling(slot: str, fitted: list[PackageCandidate]) -> Candidate:
    """The part that fills a slot."""
    return next(one.candidate for one in fitted if one.candidate.slot == slot)
