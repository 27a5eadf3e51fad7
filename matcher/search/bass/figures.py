"""Bass systems: drivers of one model in one box, priced and scored as far as that goes without an amplifier."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from matcher.formulas.box import ClosedBox, closed_box
from matcher.formulas.coils import net_signs
from matcher.formulas.nets import CoilNet, equal_power_nets
from matcher.formulas.output import MaxLevel, VentedSystem, closed_max_level, vented_max_level
from matcher.search.bass.boxes import MadeShape
from matcher.search.bass.levels import Boxed, DriverTerms, number
from matcher.search.feeds.links import Coils, Link, link_gain_cdb
from matcher.search.feeds.parts import Candidate, SpeakerSignature


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
    terms: DriverTerms
    boxed: Boxed
    shape: MadeShape | None
    """Of a box made to measure."""
    cents: int
    points: int
    unsure: bool

    @property
    def figures(self) -> BassFigures:
        """What drivers and box make together."""
        fs, qts, vas, *_ = self.terms
        boxed = self.boxed
        closed = closed_box(fs, qts, vas, number(boxed.net_l), self.drivers) if boxed.kind == "sealed" else None
        return BassFigures(self.drivers, boxed.kind, boxed.net_l, closed, boxed.tuned_hz, self.terms)

    @property
    def signature(self) -> SpeakerSignature:
        """Its drivers as a feed sees them."""
        assert isinstance(self.driver.signature, SpeakerSignature)
        return self.driver.signature

    @property
    def name(self) -> tuple[str, str, str]:
        """Driver, box, number and place, as the total order compares them; a box made to measure has no name."""
        return (self.driver.part_id or "", self.box.part_id or "", f"{self.drivers} {self.box.opening_id}")

    def level_cdb(self, link: Link) -> int | None:
        """The most it gives on a feed: the lower of what power and travel allow."""
        return self.level_at_cdb(link_gain_cdb(link))

    def level_at_cdb(self, gain_cdb: int | None) -> int | None:
        """The most it gives on a feed with so much gain; none where anything of that is not known."""
        if gain_cdb is None or self.at_1w_cdb is None or self.travel_cdb is None:
            return None
        return min(self.at_1w_cdb + gain_cdb, self.travel_cdb)

    def ruled_by(self, link: Link) -> str | None:
        """What sets that level."""
        level = self.level_cdb(link)
        return None if level is None else "travel" if level == self.travel_cdb else "power"


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
    """The nets of some drivers' coils, one for each load, with the load as a multiple of one coil's."""
    # A single driver with more coils is wired like as many single coils.
    nets = equal_power_nets(coils, 1) if drivers == 1 and coils > 2 else equal_power_nets(drivers, coils)
    first: dict[Any, CoilNet] = {}
    for net in nets or ():
        first.setdefault(net.ratio, net)
    return tuple((net, Decimal(ratio.numerator) / Decimal(ratio.denominator)) for ratio, net in first.items())
