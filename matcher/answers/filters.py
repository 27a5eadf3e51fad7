"""The filters of a package: where each begins, and which device has it; one for each channel group."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from catalog_schema.answers import Check, Filter, Line, Link, worst
from catalog_schema.checks import VERDICT_ORDER
from matcher.kernel.columns import columns_of
from matcher.kernel.explain import explain
from matcher.rules.filters import HIGH_PASS, LOW_PASS
from matcher.rules.rule import rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell

FAMILIES = {"head_unit": "head_unit", "amplifier": "amplifier", "bass_amplifier": "amplifier"}


def filters_of(
    catalog: Catalog, lines: Sequence[Line], links: Sequence[Link], unloaded_hz: Decimal | None
) -> list[Filter]:
    """The filter of each channel group: where it begins, and the device that has it.

    Loudspeakers are spared what lies below their range, and above a bass system what that plays: those that share
    channels, below the highest of their needs. Bass ends where the loudspeakers begin, within the shop's limits, and
    is spared what unloads the cone of a vented box. Common practice, no published source.

    Parameters
    ----------
    unloaded_hz
        The high-pass that a vented bass box needs, in hertz.
    """
    groups: dict[tuple[str, frozenset[str]], Link] = {}
    for link in links:
        groups.setdefault((link.from_, frozenset((*link.to, *link.beside))), link)
    bass = next((line.opening_id for line in lines if line.slot == "bass"), None)
    begins = _begins(catalog, lines, over_bass=bass is not None)
    return [_filter(catalog, lines, link, begins, bass, unloaded_hz) for link in groups.values()]


def _begins(catalog: Catalog, lines: Sequence[Line], *, over_bass: bool) -> dict[str, Decimal | None]:
    """By place of loudspeakers: the frequency from which they play; None if nobody states their range."""
    least = catalog.settings["high_pass_hz"] if over_bass else Decimal(0)
    speakers = [line for line in lines if line.slot == "speaker"]
    return {str(one.opening_id): None if one.low_hz is None else max(one.low_hz, least) for one in speakers}


def _filter(
    catalog: Catalog,
    lines: Sequence[Line],
    link: Link,
    begins: dict[str, Decimal | None],
    bass: str | None,
    unloaded_hz: Decimal | None,
) -> Filter:
    to = list(dict.fromkeys((*link.to, *link.beside)))
    speakers = [place for place in to if place in begins]
    devices = _devices(lines, link)
    known = [hz for hz in begins.values() if hz is not None]
    high = max((hz for place in speakers if (hz := begins[place]) is not None), default=None)
    high = high if speakers else unloaded_hz
    low, gap = (None, None) if speakers or bass not in to else _low_pass(catalog, max(known, default=None))
    settings = ("hp_max_hz", "hp_max_hz") if speakers else ("subsonic_hz", "subsonic_hz")
    is_wanted = high is not None and (bass is not None or not speakers)
    high_in, high_checks = _found(catalog, HIGH_PASS, high, settings, devices) if is_wanted else (None, [])
    low_in, low_checks = _found(catalog, LOW_PASS, low, ("lp_min_hz", "lp_max_hz"), devices) if low else (None, [])
    return Filter(
        from_=link.from_,
        slot=link.slot,
        to=to,
        high_pass_hz=high,
        low_pass_hz=low,
        unknown=[place for place in speakers if begins[place] is None],
        gap_to_hz=gap,
        high_pass_in=high_in,
        low_pass_in=low_in,
        checks=[*high_checks, *low_checks],
    )


def _low_pass(catalog: Catalog, begins_hz: Decimal | None) -> tuple[Decimal | None, Decimal | None]:
    """Where bass ends, and up to where nothing plays, if the loudspeakers begin higher."""
    if begins_hz is None:
        return None, None
    least, most = catalog.settings["low_pass_least_hz"], catalog.settings["low_pass_most_hz"]
    return min(max(begins_hz, least), most), begins_hz if begins_hz > most else None


def _devices(lines: Sequence[Line], link: Link) -> list[tuple[str, str | None]]:
    """Devices that can hold a channel group's filters: the part that feeds it, then the head unit before it."""
    head = next((line.part_id for line in lines if line.slot == "head_unit"), None)
    own = [(FAMILIES[link.slot], link.from_ or None)] if link.slot in FAMILIES else []
    return own if link.slot == "head_unit" else [*own, ("head_unit", head)]


def _found(
    catalog: Catalog,
    scope: str,
    wanted_hz: Decimal | None,
    settings: tuple[str, str],
    devices: Sequence[tuple[str, str | None]],
) -> tuple[str | None, list[Check]]:
    """The device that has a filter, and what the rules say of it: of several the surest, then the nearest."""
    told = []
    for family, part_id in devices:
        parts = catalog.parts(family)
        row = None if part_id is None else parts.row(part_id)
        lowest, highest = (None if row is None else cell(parts.cells[name], row) for name in settings)
        figures = {"wanted_hz": wanted_hz, "lowest_hz": lowest, "highest_hz": highest}
        checks = explain(rules_of(scope), columns_of("filtering", [figures]), catalog.settings)[0]
        told.append((part_id, checks))
    best = max(told, key=lambda one: VERDICT_ORDER[worst([check.verdict for check in one[1]])])
    verdict = worst([check.verdict for check in best[1]])
    return best[0] if verdict == "fits" else None, best[1]
