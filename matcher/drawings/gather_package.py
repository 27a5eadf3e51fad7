"""Drawings of a whole package: each part at its opening, the bass, and the complete system."""

from __future__ import annotations

from collections.abc import Sequence

from catalog_schema.answers import Line, Package
from catalog_schema.parts import Accessory, Amplifier
from catalog_schema.vehicles import AmpSpot, CargoSpace
from matcher.drawings.bass_curve import bass_curve, frequencies
from matcher.drawings.cargo import cargo_space
from matcher.drawings.coils import coil_net, net_of_signs
from matcher.drawings.gather import board_drawing, opening_drawings
from matcher.drawings.gather_bass import PackageBass, bass_of
from matcher.drawings.gather_placed import OpeningRequest, opening_in, part_in
from matcher.drawings.svg import Drawing, prefix_of
from matcher.drawings.system import system_diagram
from matcher.drawings.words import WORDS, DrawingWords
from matcher.search.bass.systems import number
from matcher.search.catalog.catalog import Catalog
from matcher.store.catalog.openings import opening_kinds

AT_OPENINGS = frozenset({"head_unit", "speaker"})
"""Slots whose part is drawn at its opening; amplifiers are drawn by spot, and boxes with their drivers."""


def package_drawings(
    catalog: Catalog, vehicle_id: str, package: Package, words: DrawingWords = WORDS
) -> dict[str, Drawing]:
    """Return every drawing of a package by name; those of an opening are named like ``dash-top/front``.

    Parameters
    ----------
    vehicle_id
        The package's vehicle.
    package
        A package of an answer.
    """
    names = {
        opening_id: words.again(opening_in(catalog, vehicle_id, opening_id).label or opening_id)
        for opening_id in opening_kinds(catalog.con, vehicle_id)
    }
    key = (vehicle_id, str(package.rank), *(f"{line.slot} {line.part_id}" for line in package.lines))
    drawn = {"system": system_diagram(package, names, words=words, prefix=prefix_of("system", *key))}
    for line in package.lines:
        drawn |= _at_opening(catalog, vehicle_id, line, words)
    drawn |= _amplifiers(catalog, vehicle_id, package, words)
    return drawn | _bass(catalog, vehicle_id, package, words, key)


def _at_opening(catalog: Catalog, vehicle_id: str, line: Line, words: DrawingWords) -> dict[str, Drawing]:
    if line.slot not in AT_OPENINGS or line.part_id is None or not line.opening_id:
        return {}
    wanted = OpeningRequest(vehicle_id, line.opening_id, line.part_id, line.adapter_id, line.alteration)
    drawn = opening_drawings(catalog, wanted, words, has_margins=False)
    return {f"{line.opening_id}/{name}": one for name, one in drawn.items()}


def _amplifiers(catalog: Catalog, vehicle_id: str, package: Package, words: DrawingWords) -> dict[str, Drawing]:
    """Draw the amplifiers of each spot together on their board."""
    on_spot: dict[str, list[Amplifier]] = {}
    for line in package.lines:
        if line.slot in ("amplifier", "bass_amplifier") and line.part_id is not None and line.opening_id is not None:
            part = part_in(catalog, line.part_id, "amplifier")
            assert isinstance(part, Amplifier)
            on_spot.setdefault(line.opening_id, []).append(part)
    drawn = {}
    for spot, amplifiers in on_spot.items():
        opening = opening_in(catalog, vehicle_id, spot)
        if isinstance(opening, AmpSpot):
            prefix = prefix_of("board", vehicle_id, spot, *(one.part_id for one in amplifiers))
            board = _board_on(catalog, package, spot)
            drawn[f"{spot}/board"] = board_drawing(catalog, vehicle_id, opening, amplifiers, words, prefix, board)
    return drawn


def _board_on(catalog: Catalog, package: Package, spot: str) -> Accessory | None:
    """Return the board of a spot, if it is from the catalog."""
    lines = [line for line in package.lines if line.slot == "board" and line.opening_id == spot]
    part_id = next((line.part_id for line in lines if line.part_id is not None), None)
    board = None if part_id is None else part_in(catalog, part_id, "accessory")
    assert board is None or isinstance(board, Accessory)
    return board


def _bass(
    catalog: Catalog, vehicle_id: str, package: Package, words: DrawingWords, key: Sequence[str]
) -> dict[str, Drawing]:
    """Draw the bass in its space, its levels and the wiring of its coils."""
    found = bass_of(catalog, package)
    if found is None or found.line.opening_id is None:
        return {}
    bass, place = found.bass, found.line.opening_id
    opening = opening_in(catalog, vehicle_id, place)
    assert isinstance(opening, CargoSpace)
    checks = [check for check in package.checks if check.about == place]
    held, prefix = found.box or bass.outer, prefix_of("space", *key)
    drawn = {
        f"{place}/space": cargo_space(opening, held, checks=checks, words=words, prefix=prefix),
        "bass-curve": _curve(found, words, prefix_of("curve", *key)),
    }
    net = net_of_signs(bass.net, bass.drivers)
    if net is not None:
        ohm = None if found.driver.coil_ohm is None else found.driver.coil_ohm.value
        feeder = _feeder(package, place, words)
        drawn["coils"] = coil_net(net, ohm, block=feeder, words=words, prefix=prefix_of("coils", *key))
    return drawn


def _feeder(package: Package, place: str, words: DrawingWords) -> str:
    """Return the amplifier that feeds a place, with the channels it uses."""
    link = next((link for link in package.links if place in link.to), None)
    if link is None:
        return words("amplifier")
    label = next((one.label for one in package.lines if one.part_id == link.from_), link.from_)
    return f"{words.again(label)}: {words.again(link.channels).partition(';')[0]}"


def _curve(found: PackageBass, words: DrawingWords, prefix: str) -> Drawing:
    figures, box = found.figures(), found.box
    levels = [most for most in found.levels(frequencies()) if most is not None]
    wanted = ("net_l", "tuned_hz") if figures.kind == "vented" else ("net_l",)
    missing = [name for name in wanted if box is not None and getattr(box, name) is None]
    tuned_hz = number(figures.tuned_hz) if figures.kind == "vented" else None
    return bass_curve(
        levels, found.line.label, f3_hz=found.bass.f3_hz, tuned_hz=tuned_hz, missing=missing, words=words, prefix=prefix
    )
