"""Filters of a package, one per channel group: the cutoff frequency, and the device that provides it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Check, Filter, Link, worst
from catalog_schema.checks import VERDICT_ORDER
from matcher.answers.messages_filters import filter_says
from matcher.kernel.columns import columns_of
from matcher.rules.filters import HIGH_PASS, LOW_PASS, SUBSONIC, SUBSONIC_UP
from matcher.rules.rule import rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell
from matcher.search.feeds.filtering import HELD
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate

IN_LINE = "in_line"
FAMILIES = {"head_unit": "head_unit", "amplifier": "amplifier", "bass_amplifier": "amplifier"}
ENDS = ("lowest", "highest")


def filters_of(
    catalog: Catalog, fitted: Sequence[PackageCandidate], links: Sequence[Link], unloaded_hz: Decimal | None
) -> list[Filter]:
    """Return the filter of each channel group: its cutoff frequency, and the device that provides it.

    A high-pass keeps loudspeakers from playing below their range, and below the top of the bass system if there is one;
    those that share channels use the highest of their cutoffs. A low-pass ends the bass where the loudspeakers begin,
    within the shop's limits, and a high-pass keeps a vented box above the frequency that unloads its cone. Common
    practice, no published source.

    Parameters
    ----------
    unloaded_hz
        The high-pass that a vented bass box needs, in hertz. If nothing provides it, the answer says so, but no verdict
        changes: the level below the tuning is that of the unloaded cone.
    """
    groups: dict[tuple[str, frozenset[str]], Link] = {}
    for link in links:
        groups.setdefault((link.from_, frozenset((*link.to, *link.beside))), link)
    lines = [one.candidate for one in fitted]
    bass = next((str(one.opening_id) for one in lines if one.slot == "bass"), None)
    begins = _begins(catalog, lines, over_bass=bass is not None)
    found = [_of_loudspeakers(catalog, lines, _begun(link, begins), bass) for link in groups.values()]
    highest = max((one.high_pass_hz for one in found if one.high_pass_hz is not None), default=None)
    found = [
        _of_bass(catalog, lines, replace(one, high_pass_hz=unloaded_hz), highest) if bass in one.to else one
        for one in found
    ]
    return [replace(one, says=filter_says(one)) for one in found]


def filter_checks(filters: Sequence[Filter]) -> list[Check]:
    """Return the checks of the filters that a package needs."""
    entries = ((one, check) for one in filters for check in one.checks if check.rule != SUBSONIC_UP.name)
    return [replace(check, about=" + ".join(one.to)) for one, check in entries]


def _begins(catalog: Catalog, lines: Sequence[Candidate], *, over_bass: bool) -> dict[str, Decimal | None]:
    """Return the lowest frequency of the loudspeakers at each place; None if their range is not stated."""
    least = catalog.settings["high_pass_hz"] if over_bass else Decimal(0)
    speakers = [line for line in lines if line.slot == "speaker"]
    return {str(one.opening_id): None if one.low_hz is None else max(one.low_hz, least) for one in speakers}


def _begun(link: Link, begins: dict[str, Decimal | None]) -> Filter:
    """The filter of a channel group, as its loudspeakers want it."""
    to = list(dict.fromkeys((*link.to, *link.beside)))
    return Filter(
        from_=link.from_,
        slot=link.slot,
        to=to,
        high_pass_hz=max((hz for place in to if (hz := begins.get(place)) is not None), default=None),
        low_pass_hz=None,
        unknown=[place for place in to if place in begins and begins[place] is None],
    )


def _of_loudspeakers(catalog: Catalog, lines: Sequence[Candidate], one: Filter, bass: str | None) -> Filter:
    """The filter of loudspeakers with its place if it has to exist: no lower than they want, if it reaches so high."""
    crossed = {str(line.opening_id) for line in lines if any(item.need.kind == "filter" for item in line.kit)}
    if set(one.to) <= crossed:
        return replace(one, high_pass_in=IN_LINE)
    if bass is None or bass in one.to:
        return one
    held, least = HELD["high_pass"][1:], catalog.settings["high_pass_hz"]
    at, checks, most = _found(catalog, HIGH_PASS, least, held, _devices(lines, one.slot))
    one = replace(one, high_pass_in=at, checks=checks)
    if most is None or one.high_pass_hz is None or most >= one.high_pass_hz:
        return one
    return replace(one, high_pass_hz=most, high_pass_wanted_hz=one.high_pass_hz)


def _of_bass(catalog: Catalog, lines: Sequence[Candidate], one: Filter, begins_hz: Decimal | None) -> Filter:
    low, gap = _low_pass(catalog, begins_hz)
    devices = _devices(lines, one.slot)
    at, checks, _ = _found(catalog, LOW_PASS, None, HELD["low_pass"][1:], devices)
    below, entries = None, list[Check]()
    if one.high_pass_hz is not None:
        below, entries, _ = _found(catalog, SUBSONIC, one.high_pass_hz, ("subsonic_hz", "subsonic_hz"), devices)
    return replace(one, low_pass_hz=low, gap_to_hz=gap, low_pass_in=at, high_pass_in=below, checks=[*entries, *checks])


def _low_pass(catalog: Catalog, begins_hz: Decimal | None) -> tuple[Decimal | None, Decimal | None]:
    """Return the low-pass of the bass, and the upper end of the gap if the loudspeakers begin higher."""
    if begins_hz is None:
        return None, None
    least, most = catalog.settings["low_pass_least_hz"], catalog.settings["low_pass_most_hz"]
    return min(max(begins_hz, least), most), begins_hz if begins_hz > most else None


def _devices(lines: Sequence[Candidate], source: str) -> list[Candidate]:
    """Return the devices that can filter a channel group: the part that feeds it, then the head unit in front of it."""
    slots = dict.fromkeys((source, "head_unit"))
    return [next(one for one in lines if one.slot == slot) for slot in slots]


def _found(
    catalog: Catalog, scope: str, wanted_hz: Decimal | None, fields: tuple[str, str], devices: Sequence[Candidate]
) -> tuple[str | None, list[Check], Decimal | None]:
    """Return the device that provides a filter, its checks, and its highest setting: the most certain one, then the
    first.

    A filter that no device provides is bought in line and has no check, except one against unloading, which is not
    sold.
    """
    entries = []
    for one in devices:
        lowest, highest = (_setting(catalog, one, name) for name in fields)
        figures = {"wanted_hz": wanted_hz, "lowest_hz": lowest, "highest_hz": highest}
        (checks,) = catalog.explain(rules_of(scope), columns_of("filtering", [figures]))
        kept_at = {f"filtering.{end}_hz": f"{one.figures_at}{name}" for end, name in zip(ENDS, fields, strict=True)}
        named = [replace(each, missing=[kept_at[name] for name in each.missing]) for each in checks]
        entries.append((one.slot, named, highest))
    at, checks, highest = max(entries, key=lambda each: VERDICT_ORDER[worst([check.verdict for check in each[1]])])
    verdict = worst([check.verdict for check in checks])
    if verdict == "no" and scope != SUBSONIC:
        return IN_LINE, [], None
    return (at, checks, highest) if verdict == "fits" else (None, checks, None)


def _setting(catalog: Catalog, one: Candidate, name: str) -> Decimal | None:
    """Return a figure of a device; of factory equipment, the one read in this vehicle."""
    if one.kept_at.startswith("opening:"):
        kind = "dash" if one.slot == "head_unit" else "amp_spot"
        vehicle = catalog.vehicle(one.kept_at.removeprefix("opening:").partition("/")[0])
        figures = vehicle.original(kind, str(one.opening_id))
        return figures.get(name)
    parts = catalog.parts(FAMILIES[one.slot])
    row = None if one.part_id is None else parts.row(one.part_id)
    found: Decimal | None = None if row is None else cell(parts.cells[name], row)
    return found
