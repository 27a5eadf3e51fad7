"""Contents of papers: the answers on one job, gathered once for all of its papers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any

from catalog_schema.answers import Options, Package
from matcher.papers.columns import OfferColumn, columns
from matcher.settings import Settings

if TYPE_CHECKING:
    from catalog_schema.choices import Choice, Setup, WentOn
    from catalog_schema.whys import LimitPrices, Measure, MeasureFirst, Why
    from matcher.drawings.svg import Drawing
    from matcher.store.readings.readings import Reading


FIRST = 10
"""Number of figures of other packages on a sheet, those with the highest stake."""


@dataclass(frozen=True, kw_only=True)
class Dossier:
    """One job with one of its packages, and every answer about both."""

    job: Mapping[str, Any]
    """The job's document."""
    vehicle: Mapping[str, Any]
    """The vehicle's document, including readings."""
    options: Options
    """The ranked packages and tiers."""
    package: Package | None
    """The package that a paper is about; None if no package meets every limit."""
    parts: Mapping[str, Mapping[str, Any]]
    """Printed figures of every part mentioned, by part number, as `printed_parts` returns them."""
    settings: Settings
    on: date
    """The date of the paper."""
    choice: Choice | None = None
    """The package chosen for the job, if any."""
    setup: Setup | None = None
    """Values measured at set-up, or values to measure."""
    went_on: Sequence[WentOn] = ()
    """Orders and signatures given despite open points."""
    readings: Sequence[Reading] = ()
    """Readings of the car, its openings and the parts of the package."""
    limits: LimitPrices | None = None
    """Price of each limit, if it was computed."""
    measure: MeasureFirst | None = None
    """Figures to measure first with their deciding values, if computed."""
    why: Why | None = None
    """Why there is no package and what would help, if computed."""
    further: Mapping[str, Package] = field(default_factory=dict)
    """Packages on offer beyond the job's limits, by the limit that each exceeds."""
    drawings: Mapping[str, Drawing] = field(default_factory=dict)
    """Drawings by name: of an opening as ``dash/front``, of the proposal as ``offer/today``."""
    sketches: Mapping[str, Drawing] = field(default_factory=dict)
    """Sketches of where to measure, by figure name."""

    @cached_property
    def offered(self) -> list[OfferColumn]:
        """The packages on offer, with their letters, the same on every screen and paper."""
        return columns(self.options, self.further, None if self.choice is None else self.choice.package)

    @property
    def to_measure(self) -> list[str]:
        """The figures to measure: those that could change the choice, then the others that this package leaves open.

        Empty without a package: an unknown figure never rules a part out, so no reading would bring one.
        """
        if self.package is None:
            return []
        named = [] if self.measure is None else [one.figure for one in self.measure.figures[:FIRST]]
        return list(dict.fromkeys([*named, *self.package.measure]))

    def at_stake(self, figure: str) -> Measure | None:
        """Return the verdict that a figure decides, if computed."""
        found = [] if self.measure is None else self.measure.figures
        return next((one for one in found if one.figure == figure), None)

    def opening(self, opening_id: str) -> Mapping[str, Any]:
        """Return an opening's figures; empty if the vehicle has no such opening."""
        return next((one for one in self.vehicle["openings"] if one["opening_id"] == opening_id), {})
