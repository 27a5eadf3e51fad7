"""Bass systems: drivers of one model in one box, priced and scored as far as that goes without an amplifier."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache, cached_property
from typing import Any

from matcher.formulas.box import ClosedBox, closed_box
from matcher.formulas.coils import net_signs
from matcher.formulas.driver import reference_efficiency
from matcher.formulas.loudness import sens_of_efficiency_db
from matcher.formulas.nets import CoilNet, equal_power_nets
from matcher.formulas.output import MaxLevel, VentedSystem, closed_max_level, vented_max_level
from matcher.search.bass_boxes import MadeShape
from matcher.search.links import Coils, Link
from matcher.search.parts import Candidate, SpeakerSignature
from matcher.search.slots import link_gain_cdb

BASS_HZ = 40.0
"""Where the level of bass is told and scored."""
NO_LIMIT_CDB = 1_000_000
"""Travel that sets no limit: a vented box at its tuning."""

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class BassFigures:
    """What drivers and box make together, whatever drives them."""

    drivers: int
    kind: str | None
    net_l: Decimal | None
    closed: ClosedBox | None
    tuned_hz: Decimal | None
    driver: tuple[float | None, ...]
    """fs_hz, qts, vas_l, sens_1w, sd_cm2, xmax_mm of one driver."""

    def level(self, power_w: float, freq_hz: float) -> MaxLevel | None:
        """The most it gives at a frequency on this power, and what rules."""
        fs, qts, vas, sens, sd, xmax = self.driver
        if self.kind == "sealed":
            return closed_max_level(freq_hz, self.closed, sens, power_w, sd, xmax, self.drivers)
        if self.kind is None:
            return None
        each = None if self.net_l is None else float(self.net_l) / self.drivers
        system = VentedSystem(fs, qts, vas, each, number(self.tuned_hz))
        return vented_max_level(freq_hz, system, sens, power_w, sd, xmax, self.drivers)


def figures_of(
    driver: Row, drivers: int, kind: str | None, net_l: Decimal | None, tuned: Decimal | None
) -> BassFigures:
    """Drivers of one model in a box of this kind and volume."""
    fs, qts, qes, vas, sd, xmax = (
        number(driver[name]) for name in ("fs_hz", "qts", "qes", "vas_l", "sd_cm2", "xmax_mm")
    )
    closed = closed_box(fs, qts, vas, number(net_l), drivers) if kind == "sealed" else None
    sens = sens_of_efficiency_db(reference_efficiency(fs, vas, qes))
    return BassFigures(drivers, kind, net_l, closed, tuned, (fs, qts, vas, sens, sd, xmax))


@dataclass(frozen=True, slots=True)
class BassSystem:
    """Drivers in a box at a cargo space."""

    driver: Candidate
    box: Candidate
    drivers: int
    at_1w_cdb: int | None
    """Level on 1 W into the whole net, by power alone."""
    travel_cdb: int | None
    """Level at which the cones come to their travel's end."""
    figures: BassFigures
    shape: MadeShape | None
    """Of a box made to measure."""

    @property
    def cents(self) -> int:
        return self.driver.cents + self.box.cents

    @property
    def points(self) -> int:
        return self.driver.total_points + self.box.total_points

    @property
    def unsure(self) -> bool:
        return self.driver.unsure or self.box.unsure

    @property
    def name(self) -> tuple[str, str, str]:
        """Driver, box and number, as the total order compares them; a box made to measure has no name."""
        return (self.driver.part_id or "", self.box.part_id or "", str(self.drivers))

    def level_cdb(self, link: Link) -> int | None:
        """The most it gives on a feed: the lower of what power and travel allow."""
        gain = link_gain_cdb(link)
        if gain is None or self.at_1w_cdb is None or self.travel_cdb is None:
            return None
        return min(self.at_1w_cdb + gain, self.travel_cdb)

    def ruled_by(self, link: Link) -> str | None:
        """What sets that level."""
        level = self.level_cdb(link)
        return None if level is None else "travel" if level == self.travel_cdb else "power"


@dataclass(frozen=True, slots=True)
class BassGroup:
    """Systems that any feed sees as the same: one net after another of the same coils."""

    signature: SpeakerSignature
    nets: tuple[Coils, ...]
    systems: tuple[BassSystem, ...]


@dataclass
class BassSide:
    """Every bass system of a job."""

    systems: Sequence[BassSystem]
    k: int
    doubt: int
    """What a feed that is not sure takes off."""
    places: tuple[str, ...] = field(default=())

    @cached_property
    def groups(self) -> list[BassGroup]:
        """Systems by what a feed sees of them, without those that k others always beat."""
        by_net: dict[tuple[int, SpeakerSignature], list[BassSystem]] = {}
        for one in self.systems:
            by_net.setdefault((one.drivers, _signature(one)), []).append(one)
        return [
            BassGroup(signature, coil_nets_of(drivers, signature), tuple(unbeaten(systems, self.k, self.doubt)))
            for (drivers, signature), systems in by_net.items()
        ]

    @cached_property
    def ways(self) -> int:
        """Systems, each in every net that differs in load."""
        return sum(len(coil_nets_of(one.drivers, _signature(one))) for one in self.systems)


def _signature(one: BassSystem) -> SpeakerSignature:
    assert isinstance(one.driver.signature, SpeakerSignature)
    return one.driver.signature


@cache
def coil_nets_of(drivers: int, signature: SpeakerSignature) -> tuple[Coils, ...]:
    """Of the nets in which every coil gets the same power one for each load, drivers kept whole if they can be."""
    return tuple(
        Coils(net_signs(net.net, single=signature.coils == 1), signature.impedance_ohm * ratio, 1)
        for net, ratio in nets_by_load(drivers, signature.coils)
        if signature.impedance_ohm is not None
    )


@cache
def nets_by_load(drivers: int, coils: int) -> tuple[tuple[CoilNet, Decimal], ...]:
    # A single driver with more coils is wired like as many single coils.
    nets = equal_power_nets(coils, 1) if drivers == 1 and coils > 2 else equal_power_nets(drivers, coils)
    first: dict[Any, CoilNet] = {}
    for net in nets or ():
        first.setdefault(net.ratio, net)
    return tuple((net, Decimal(ratio.numerator) / Decimal(ratio.denominator)) for ratio, net in first.items())


def unbeaten(systems: Iterable[BassSystem], k: int, doubt: int) -> list[BassSystem]:
    """Kept: systems that fewer than k others beat in money, points and both levels at once."""
    kept: list[BassSystem] = []
    for one in sorted(systems, key=lambda one: (one.cents, one.name)):
        beating = 0
        for other in kept:
            # All that are kept are cheaper, or as cheap and before it by name: they win every tie.
            beating += _beats(other, one, doubt)
            if beating == k:
                break
        else:
            kept.append(one)
    return kept


def _beats(other: BassSystem, one: BassSystem, doubt: int) -> bool:
    """Whether it has no fewer points on any feed: on a doubtful one only what is sure by itself loses some."""
    if other.unsure > one.unsure:
        return False
    lost = doubt if one.unsure and not other.unsure else 0
    if other.points + lost < one.points:
        return False
    if one.at_1w_cdb is None or one.travel_cdb is None:
        return True
    if other.at_1w_cdb is None or other.travel_cdb is None:
        return False
    return other.at_1w_cdb >= one.at_1w_cdb and other.travel_cdb >= one.travel_cdb


def levels_of(
    row: Row, drivers: int, kind: str | None, net: Decimal | None, tuned: Decimal | None, freq_hz: float
) -> tuple[BassFigures, int | None, int | None]:
    """Figures, level on 1 W, and level at the end of travel."""
    figures = figures_of(row, drivers, kind, net, tuned)
    most = figures.level(1.0, freq_hz)
    if most is None or most.power_db is None:
        return figures, None, None
    free = most.travel_db is None and most.ruled_by == "power"
    travel = NO_LIMIT_CDB if free else None if most.travel_db is None else round(100 * most.travel_db)
    return figures, round(100 * most.power_db), travel


def number(figure: Decimal | None) -> float | None:
    """A stored figure as the formulas take it."""
    return None if figure is None else float(figure)
