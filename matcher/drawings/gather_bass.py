"""The bass of a package: its drivers in their box, and the level that they reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from catalog_schema.answers import Bass, Line, Package
from catalog_schema.figures import Figure
from catalog_schema.parts import Enclosure, Subwoofer
from matcher.drawings.gather_placed import part_in
from matcher.formulas.output import MaxLevel
from matcher.search.bass.estimates import estimated
from matcher.search.bass.levels import PORT, DriverTerms, Floats
from matcher.search.bass.systems import BassFigures, DriverFigures, number, quiet_cm2_of
from matcher.search.catalog.catalog import Catalog
from matcher.settings import Settings


@dataclass(frozen=True, slots=True)
class PackageBass:
    """The bass of a package."""

    bass: Bass
    line: Line
    """The line of its driver."""
    driver: Subwoofer
    box: Enclosure | None
    """None for one made to measure."""
    power_w: float | None
    """Power into all drivers together: that of the feed, at most their rated power; None if unknown."""
    settings: Settings

    def levels(self, frequencies_hz: Sequence[float]) -> list[MaxLevel | None]:
        """Return the maximum level at each frequency; None if a figure is missing."""
        figures, power_w = self.figures(), self.power_w
        return [None if power_w is None else figures.level(power_w, hz, self.settings) for hz in frequencies_hz]

    def figures(self) -> BassFigures:
        """Return the response of the drivers in their box; a made-to-measure box is closed."""
        box, driver = self.box, self.driver
        kind = "sealed" if box is None else box.kind
        tuned = None if box is None or box.tuned_hz is None else box.tuned_hz.value
        quiet = None
        if box is not None:
            port = [_value(getattr(box, name)) for name in PORT]
            quiet = quiet_cm2_of(port, _value(box.net_l), box.port_flared, self.settings)
        stated, (size_in, box_l) = (
            [_array(getattr(driver, name)) for name in names] for names in (DriverTerms._fields, ("size_in", "box_l"))
        )
        own = (float(each[0]) for each in estimated(DriverTerms(*stated), size_in, box_l, self.settings))
        return BassFigures(self.bass.drivers, kind, self.bass.box_net_l, tuned, quiet, DriverFigures(*own))


def bass_of(catalog: Catalog, package: Package) -> PackageBass | None:
    """Return the bass of a package; None if it buys none."""
    line, bass = _line(package, "bass"), package.bass
    if bass is None or line is None or line.part_id is None:
        return None
    driver = part_in(catalog, line.part_id, "subwoofer")
    held = _line(package, "enclosure")
    box = None if held is None or held.part_id is None else part_in(catalog, held.part_id, "enclosure")
    assert isinstance(driver, Subwoofer) and isinstance(box, Enclosure | None)
    link = next((one for one in package.links if line.opening_id in one.to), None)
    power_w = None
    if link is not None and link.power_w is not None and driver.rms_w is not None:
        power_w = float(min(link.power_w, driver.rms_w.value) * bass.drivers)
    return PackageBass(bass, line, driver, box, power_w, catalog.settings)


def _line(package: Package, slot: str) -> Line | None:
    return next((line for line in package.lines if line.slot == slot), None)


def _array(figure: Figure | None) -> Floats:
    value = number(_value(figure))
    return np.array([np.nan if value is None else value])


def _value(figure: Figure | None) -> Decimal | None:
    return None if figure is None else figure.value
