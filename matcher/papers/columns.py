"""The packages on offer, with their letters: those that a customer can hear, see or pay the difference between."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from string import ascii_uppercase

from catalog_schema.answers import Options, Package
from matcher.answers.gains import gains, is_better, is_noticed

MOST = 3
"""Number of packages side by side on a proposal."""
ASKED_FOR = frozenset({"head_unit", "speaker", "bass", "film", "security"})
"""Slots that a customer asks for; the others accompany them."""
LIFTED = ("choose.bass", "budget")
"""Limits lifted for a further package if the job's own budgets give fewer than `MOST`."""


@dataclass(frozen=True, slots=True)
class OfferColumn:
    """A package on offer."""

    letter: str
    package: Package
    lifted: str = ""
    """The limit that it exceeds; empty if none."""


def columns(options: Options, further: Mapping[str, Package], chosen: Package | None = None) -> list[OfferColumn]:
    """Return the packages on offer, cheapest first: the best one, those at other budgets, then those beyond a limit.

    Parameters
    ----------
    options
        The answer to the job.
    further
        Packages that exceed a limit, by the limit's name.
    chosen
        The package chosen for the job; it is added last if it is none of these, so that letters stay the same.
    """
    if not options.packages:
        return []
    within = [tier.package for tier in reversed(options.tiers) if tier.package is not None] + options.packages[1:]
    shown = [(options.packages[0], "")]
    for package, lifted in [*((one, "") for one in within), *((one, name) for name, one in further.items())]:
        if len(shown) < MOST and all(is_worth_it(package, one) for one, _ in shown):
            shown.append((package, lifted))
    shown.sort(key=lambda pair: pair[0].price.total)
    if chosen is not None and not any(same(chosen, one) for one, _ in shown):
        shown.append((chosen, ""))
    return [OfferColumn(ascii_uppercase[place], *pair) for place, pair in enumerate(shown)]


def same(package: Package, other: Package) -> bool:
    """Whether two packages have the same parts and feeds."""
    return package.id == other.id if package.id and other.id else _parts(package) == _parts(other)


def is_worth_it(package: Package, other: Package) -> bool:
    """Whether two packages are worth offering together: the more expensive one has an advantage."""
    cheaper, dearer = sorted((package, other), key=lambda one: one.price.total)
    noticed = filter(is_noticed, gains(cheaper, dearer))
    return bool(filled(dearer) - filled(cheaper)) or any(map(is_better, noticed))


def filled(package: Package) -> set[tuple[str, str | None]]:
    """Return the slots that a customer asks for and a package fills, each with its place."""
    return {(line.slot, line.opening_id) for line in package.lines if line.part_id and line.slot in ASKED_FOR}


def _parts(package: Package) -> list[tuple[str, str | None, str | None]]:
    return [(line.slot, line.opening_id, line.part_id) for line in package.lines]
