"""Inputs of a bass box, and results common to closed and vented boxes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from catalog_schema.answers import Answer
from matcher.calculators.answer import result
from matcher.formulas.driver import reference_efficiency, total_q
from matcher.formulas.loudness import sens_of_efficiency_db
from matcher.formulas.output import MaxLevel

CURVE_HZ = (20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0)
"""Third-octave frequencies over the range of a bass system."""

Kind = Literal["sealed", "vented"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DriversInputs(Answer):
    """Identical drivers in one box: their parameters, and the total power into them."""

    drivers: float | None = 1
    fs_hz: float | None = None
    qts: float | None = None
    qes: float | None = None
    qms: float | None = None
    vas_l: float | None = None
    sd_cm2: float | None = None
    xmax_mm: float | None = None
    power_w: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpaceInputs(Answer):
    """The space for a box made to measure, the opening to get it in, and its material."""

    space_w_mm: float | None = None
    space_h_mm: float | None = None
    space_d_mm: float | None = None
    space_d_top_mm: float | None = None
    gate_w_mm: float | None = None
    gate_h_mm: float | None = None
    floor_loss_mm: float | None = 0.0
    beside_mm: float | None = 0.0
    clearance_mm: float | None = 0.0
    board_mm: float | None = None
    braces: float | None = 0
    displaces_l: float | None = None
    port_takes_l: float | None = None
    density: float | None = None

    @property
    def is_given(self) -> bool:
        """Whether any size of the space was given."""
        sizes = (self.space_w_mm, self.space_h_mm, self.space_d_mm, self.space_d_top_mm)
        return any(size is not None for size in sizes)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxInputs(Answer):
    """A bass box: its kind; its volume, or the Q or space that determines it; its tuning and port."""

    kind: Kind = "sealed"
    box_l: float | None = None
    qtc: float | None = None
    tuned_hz: float | None = None
    port_mm: float | None = None
    ports: float | None = 1
    at_hz: float | None = None
    driver: DriversInputs = field(default_factory=DriversInputs)
    space: SpaceInputs = field(default_factory=SpaceInputs)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResponsePoint(Answer):
    """Response and maximum level at one frequency."""

    freq_hz: float = result("frequency")
    response_db: float | None = result("response")
    level_db: float | None = result("most")
    ruled_by: Literal["power", "travel", "port"] | None = result("ruled by", blank="")


def qts_of(driver: DriversInputs) -> float | None:
    """Return the total Q as given, or from the electrical and mechanical Q."""
    return driver.qts if driver.qts is not None else total_q(driver.qes, driver.qms)


def sens_1w_of(driver: DriversInputs) -> float | None:
    """Return the level at 1 W and 1 m in half space, from the driver's parameters."""
    return sens_of_efficiency_db(reference_efficiency(driver.fs_hz, driver.vas_l, driver.qes))


def response_table(
    response: Callable[[float], float | None], most: Callable[[float], MaxLevel | None]
) -> list[ResponsePoint]:
    """Return response and maximum level over the range of a bass system; empty without a response."""
    points = []
    for freq in CURVE_HZ:
        highest, level = most(freq), response(freq)
        if level is None:
            return []
        points.append(
            ResponsePoint(
                freq_hz=freq,
                response_db=level,
                level_db=None if highest is None else highest.level_db,
                ruled_by=None if highest is None else highest.ruled_by,
            )
        )
    return points


def level_figures(most: MaxLevel | None) -> dict[str, Any]:
    """Return the maximum level and its two limits, by their names in an answer."""
    names = ("power_db", "travel_db", "level_db", "ruled_by")
    return {name: None if most is None else getattr(most, name) for name in names}


def share_of_each(whole_l: float | None, drivers: float | None) -> float | None:
    """Return the share of a common volume (l) that each driver gets."""
    return None if whole_l is None or not drivers else whole_l / drivers


def first_known(figures: Sequence[float | None]) -> float | None:
    return next((figure for figure in figures if figure is not None), None)
