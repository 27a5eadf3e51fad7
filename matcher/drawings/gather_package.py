"""Drawings of a whole package: each part at its opening, the bass, and the complete system."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from catalog_schema.answers import Line, Package
from catalog_schema.figures import Figure
from catalog_schema.parts import Accessory, Amplifier, Enclosure, Subwoofer
from catalog_schema.vehicles import AmpSpot, CargoSpace
from matcher.drawings.bass_curve import bass_curve, frequencies
from matcher.drawings.cargo import cargo_space
from matcher.drawings.coils import coil_net, net_of_signs
from matcher.drawings.gather import OpeningRequest, board_drawing, opening_drawings
from matcher.drawings.svg import Drawing, prefix_of
from matcher.drawings.system import system_diagram
from matcher.drawings.words import WORDS, DrawingWords
from matcher.formulas.output import MaxLevel
from matcher.search.bass.estimates import estimated
from matcher.search.bass.levels import PORT, DriverTerms, Floats
from matcher.search.bass.systems import BassFigures, DriverFigures, number, quiet_cm2_of
from matcher.search.catalog.catalog import Catalog
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.things import stored_opening, stored_part
from matcher.store.database.connection import Connection

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
    con = catalog.con
    names = {
        opening_id: words.again(stored_opening(con, vehicle_id, opening_id).label or opening_id)
        for opening_id in opening_kinds(con, vehicle_id)
    }
    key = (vehicle_id, str(package.rank), *(f"{line.slot} {line.part_id}" for line in package.lines))
    drawn = {"system": system_diagram(package, names, words=words, prefix=prefix_of("system", *key))}
    for line in package.lines:
        drawn |= _at_opening(catalog, vehicle_id, line, words)
    drawn |= _amplifiers(catalog, vehicle_id, package, words)
    return drawn | _Side(catalog, package, words).drawn(vehicle_id, key)


def bass_levels(catalog: Catalog, package: Package, frequencies_hz: Sequence[float]) -> list[MaxLevel | None]:
    """Return the maximum bass level of a package at each frequency, dB; None if a figure is missing."""
    return _Side(catalog, package, WORDS).levels(frequencies_hz)


def _at_opening(catalog: Catalog, vehicle_id: str, line: Line, words: DrawingWords) -> dict[str, Drawing]:
    if line.slot not in AT_OPENINGS or line.part_id is None or not line.opening_id:
        return {}
    wanted = OpeningRequest(vehicle_id, line.opening_id, line.part_id, line.adapter_id, line.alteration)
    drawn = opening_drawings(catalog, wanted, words, has_margins=False)
    return {f"{line.opening_id}/{name}": one for name, one in drawn.items()}


def _amplifiers(catalog: Catalog, vehicle_id: str, package: Package, words: DrawingWords) -> dict[str, Drawing]:
    """Draw the amplifiers of each spot together on their board."""
    con = catalog.con
    on_spot: dict[str, list[Amplifier]] = {}
    for line in package.lines:
        if line.slot in ("amplifier", "bass_amplifier") and line.part_id is not None and line.opening_id is not None:
            part = stored_part(con, line.part_id, "amplifier")
            assert isinstance(part, Amplifier)
            on_spot.setdefault(line.opening_id, []).append(part)
    drawn = {}
    for spot, amplifiers in on_spot.items():
        opening = stored_opening(con, vehicle_id, spot)
        if isinstance(opening, AmpSpot):
            prefix = prefix_of("board", vehicle_id, spot, *(one.part_id for one in amplifiers))
            board = _board_on(con, package, spot)
            drawn[f"{spot}/board"] = board_drawing(catalog, vehicle_id, opening, amplifiers, words, prefix, board)
    return drawn


def _board_on(con: Connection, package: Package, spot: str) -> Accessory | None:
    """Return the board of a spot, if it is from the catalog."""
    lines = [line for line in package.lines if line.slot == "board" and line.opening_id == spot]
    part_id = next((line.part_id for line in lines if line.part_id is not None), None)
    board = None if part_id is None else stored_part(con, part_id, "accessory")
    assert board is None or isinstance(board, Accessory)
    return board


@dataclass(frozen=True, slots=True)
class _Side:
    """The bass side of a package, if it has one."""

    catalog: Catalog
    package: Package
    words: DrawingWords

    def drawn(self, vehicle_id: str, key: tuple[str, ...]) -> dict[str, Drawing]:
        bass, line = self.package.bass, self._line("bass")
        if bass is None or line is None or line.part_id is None or line.opening_id is None:
            return {}
        driver = stored_part(self.catalog.con, line.part_id, "subwoofer")
        opening = stored_opening(self.catalog.con, vehicle_id, line.opening_id)
        assert isinstance(driver, Subwoofer) and isinstance(opening, CargoSpace)
        box = self._box()
        prefix = prefix_of("space", *key)
        checks = [check for check in self.package.checks if check.about == line.opening_id]
        drawn = {
            f"{line.opening_id}/space": cargo_space(
                opening, box or bass.outer, checks=checks, words=self.words, prefix=prefix
            ),
            "bass-curve": self._curve(driver, box, line.label, prefix_of("curve", *key)),
        }
        net = net_of_signs(bass.net, bass.drivers)
        if net is not None:
            ohm = None if driver.coil_ohm is None else driver.coil_ohm.value
            prefix = prefix_of("coils", *key)
            drawn["coils"] = coil_net(net, ohm, block=self._feeder(line), words=self.words, prefix=prefix)
        return drawn

    def _line(self, slot: str) -> Line | None:
        return next((line for line in self.package.lines if line.slot == slot), None)

    def _box(self) -> Enclosure | None:
        line = self._line("enclosure")
        if line is None or line.part_id is None:
            return None
        box = stored_part(self.catalog.con, line.part_id, "enclosure")
        assert isinstance(box, Enclosure)
        return box

    def _feeder(self, line: Line) -> str:
        """Return the amplifier that feeds the bass, with the channels it uses."""
        link = next((link for link in self.package.links if line.opening_id in link.to), None)
        if link is None:
            return self.words("amplifier")
        label = next((one.label for one in self.package.lines if one.part_id == link.from_), link.from_)
        return f"{self.words.again(label)}: {self.words.again(link.channels).partition(';')[0]}"

    def _curve(self, driver: Subwoofer, box: Enclosure | None, name: str, prefix: str) -> Drawing:
        figures = self._figures(driver, box)
        levels = [most for most in self._levels(driver, box, frequencies()) if most is not None]
        wanted = ("net_l", "tuned_hz") if figures.kind == "vented" else ("net_l",)
        missing = [name for name in wanted if box is not None and getattr(box, name) is None]
        bass = self.package.bass
        return bass_curve(
            levels,
            name,
            f3_hz=None if bass is None else bass.f3_hz,
            tuned_hz=number(figures.tuned_hz) if figures.kind == "vented" else None,
            missing=missing,
            words=self.words,
            prefix=prefix,
        )

    def levels(self, frequencies_hz: Sequence[float]) -> list[MaxLevel | None]:
        """Return the maximum level at each frequency."""
        line = self._line("bass")
        if self.package.bass is None or line is None or line.part_id is None:
            return [None for _ in frequencies_hz]
        driver = stored_part(self.catalog.con, line.part_id, "subwoofer")
        assert isinstance(driver, Subwoofer)
        return self._levels(driver, self._box(), frequencies_hz)

    def _levels(
        self, driver: Subwoofer, box: Enclosure | None, frequencies_hz: Sequence[float]
    ) -> list[MaxLevel | None]:
        figures, power_w = self._figures(driver, box), self._power_w(driver)
        return [None if power_w is None else figures.level(power_w, hz, self.catalog.settings) for hz in frequencies_hz]

    def _figures(self, driver: Subwoofer, box: Enclosure | None) -> BassFigures:
        """Return the response of the drivers in their box; a made-to-measure box is closed."""
        bass = self.package.bass
        assert bass is not None
        kind = "sealed" if box is None else box.kind
        tuned = None if box is None or box.tuned_hz is None else box.tuned_hz.value
        quiet = None
        if box is not None:
            port = [_value(getattr(box, name)) for name in PORT]
            quiet = quiet_cm2_of(port, _value(box.net_l), box.port_flared, self.catalog.settings)
        stated, (size_in, box_l) = (
            [_array(getattr(driver, name)) for name in names] for names in (DriverTerms._fields, ("size_in", "box_l"))
        )
        own = (float(each[0]) for each in estimated(DriverTerms(*stated), size_in, box_l, self.catalog.settings))
        return BassFigures(bass.drivers, kind, bass.box_net_l, tuned, quiet, DriverFigures(*own))

    def _power_w(self, driver: Subwoofer) -> float | None:
        """Return the power into all drivers together: that of the feed, at most their rated power."""
        bass, line = self.package.bass, self._line("bass")
        link = next((one for one in self.package.links if line is not None and line.opening_id in one.to), None)
        rated = driver.rms_w
        if bass is None or link is None or link.power_w is None or rated is None:
            return None
        return float(min(link.power_w, rated.value) * bass.drivers)


def _array(figure: Figure | None) -> Floats:
    value = number(_value(figure))
    return np.array([np.nan if value is None else value])


def _value(figure: Figure | None) -> Decimal | None:
    return None if figure is None else figure.value
