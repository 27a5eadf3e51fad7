"""Notes on a package: long waits, copper-clad aluminum, no charging current at idle."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from catalog_schema.answers import Check
from matcher.answers.sentences import Amount, Sentence
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell
from matcher.search.packages import PackageCandidate


def waits_of(catalog: Catalog) -> dict[str, int | None]:
    """Return the waiting time of each part looked up, in days: 0 if in stock, None if unknown."""
    found: dict[str, int | None] = catalog.once("waits", dict)
    return found


def package_notes(catalog: Catalog, vehicle_id: str, fitted: Sequence[PackageCandidate]) -> list[str]:
    """Return the notes on a package's parts and on their vehicle."""
    vehicle = catalog.vehicle(vehicle_id).row
    return [*_waits(catalog, fitted), *_cables(catalog, fitted), *_charging(vehicle, fitted), *_keys(vehicle, fitted)]


def evidence_notes(checks: Sequence[Check]) -> list[str]:
    """Describe earlier installations of the parts, if these settle what the figures leave open."""
    settled = dict.fromkeys((check.about.partition(":")[0], check.evidence) for check in checks if check.evidence)
    return [
        Sentence("{place}: fitted before: {evidence}", place=place, evidence=evidence) for place, evidence in settled
    ]


def wait_says(part: str, days: int) -> str:
    """Describe a long wait for a part."""
    return Sentence("{part} is not in stock and takes {wait} to come", part=part, wait=Amount(days, "days"))


def aluminum_says(cable: str) -> str:
    """Describe a cable of copper-clad aluminum."""
    return Sentence("cable {part} is copper-clad aluminum, sized for 1.6 times the resistance of copper", part=cable)


def notes_again(notes: Sequence[str], parts: Sequence[str]) -> list[str]:
    """Return kept notes as sentences again, by the parts that they may name; others stay as they are."""
    waits = {int(days) for note in notes for days in re.findall(r"takes (\d+) days", note)}
    made = [aluminum_says(part) for part in parts] + [wait_says(part, days) for part in parts for days in waits]
    sentences = {str(one): one for one in made}
    return [sentences.get(note, note) for note in notes]


def _waits(catalog: Catalog, fitted: Sequence[PackageCandidate]) -> Iterator[str]:
    least, waits = catalog.settings["told_wait_days"], waits_of(catalog)
    bought = ((one.candidate.part_id, one.candidate.adapter_id) for one in fitted)
    for name in dict.fromkeys(name for names in bought for name in names if name):
        days = waits.get(name)
        if days is not None and days >= least:
            yield wait_says(name, days)


def _cables(catalog: Catalog, fitted: Sequence[PackageCandidate]) -> Iterator[str]:
    cables = catalog.parts("cable")
    for name in (str(one.candidate.part_id) for one in fitted if one.candidate.slot == "cable"):
        row = cables.row(name)
        if row is not None and cell(cables.cells["conductor"], row) == "cca":
            yield aluminum_says(name)


def _charging(vehicle: Mapping[str, Any], fitted: Sequence[PackageCandidate]) -> Iterator[str]:
    idle = vehicle.get("charge_idle_a")
    if idle == 0 and any(one.candidate.draw is not None for one in fitted):
        yield Sentence(
            "charging gives nothing at idle, as of a dynamo: the battery feeds the sound until the engine runs"
        )


def _keys(vehicle: Mapping[str, Any], fitted: Sequence[PackageCandidate]) -> Iterator[str]:
    known = vehicle.get("keys_on_wheel") is not None
    if not known and any(one.candidate.slot == "head_unit" and one.candidate.part_id for one in fitted):
        yield Sentence("it is not known whether the car has keys on its wheel: they would need an interface")
