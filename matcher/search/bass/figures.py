"""Bass systems: drivers of one model in one box, priced and scored as far as that goes without an amplifier."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache, cached_property
from typing import Any

from matcher.formulas.box import ClosedBox, closed_box, closed_fc_hz, closed_qtc, closed_response_db
from matcher.formulas.coils import net_signs
from matcher.formulas.driver import reference_efficiency
from matcher.formulas.loudness import sens_of_efficiency_db
from matcher.formulas.nets import CoilNet, equal_power_nets
from matcher.formulas.output import (
    MaxLevel,
    VentedSystem,
    closed_max_level,
    displacement_l,
    power_level_db,
    travel_level_db,
    vented_max_level,
)
from matcher.search.bass.boxes import MadeShape
from matcher.search.feeds.blocks import link_gain_cdb
from matcher.search.feeds.links import Coils, Link
from matcher.search.feeds.parts import Candidate, SpeakerSignature

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


DriverTerms = tuple[float | None, ...]
"""fs_hz, qts, vas_l, sens_1w, sd_cm2, xmax_mm of one driver."""


def terms_of(driver: Row) -> DriverTerms:
    """A driver as the formulas take it, with its sensitivity."""
    fs, qts, qes, vas, sd, xmax = (
        number(driver[name]) for name in ("fs_hz", "qts", "qes", "vas_l", "sd_cm2", "xmax_mm")
    )
    return fs, qts, vas, sens_of_efficiency_db(reference_efficiency(fs, vas, qes)), sd, xmax


@dataclass(frozen=True, slots=True)
class Boxed:
    """The box that drivers sit in, as far as sound goes."""

    kind: str | None
    net_l: Decimal | None
    tuned_hz: Decimal | None


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
    def name(self) -> tuple[str, str, str]:
        """Driver, box, number and place, as the total order compares them; a box made to measure has no name."""
        return (self.driver.part_id or "", self.box.part_id or "", f"{self.drivers} {self.box.opening_id}")

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
    feed_wanted: tuple[str, str] | None = None
    """The mode and the coil net that alone are looked at; all where there is none."""

    @cached_property
    def groups(self) -> list[BassGroup]:
        """Systems by what a feed sees of them, without those that k others always beat."""
        return [
            BassGroup(signature, coil_nets_of(drivers, signature), tuple(unbeaten(systems, self.k, self.doubt)))
            for (drivers, signature), systems in self._by_net.items()
        ]

    @cached_property
    def ways(self) -> int:
        """Systems, each in every net that differs in load."""
        return sum(len(coil_nets_of(*net)) * len(systems) for net, systems in self._by_net.items())

    @cached_property
    def _by_net(self) -> dict[tuple[int, SpeakerSignature], list[BassSystem]]:
        found: dict[tuple[int, SpeakerSignature], list[BassSystem]] = {}
        for one in self.systems:
            found.setdefault((one.drivers, _signature(one)), []).append(one)
        return found


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
    """The nets of some drivers' coils, one for each load, with the load as a multiple of one coil's."""
    # A single driver with more coils is wired like as many single coils.
    nets = equal_power_nets(coils, 1) if drivers == 1 and coils > 2 else equal_power_nets(drivers, coils)
    first: dict[Any, CoilNet] = {}
    for net in nets or ():
        first.setdefault(net.ratio, net)
    return tuple((net, Decimal(ratio.numerator) / Decimal(ratio.denominator)) for ratio, net in first.items())


Merit = tuple[int, int, int, bool]
"""Points, level on 1 W, level at the end of travel (-1: not known), whether unsure."""


def unbeaten(systems: Iterable[BassSystem], k: int, doubt: int) -> list[BassSystem]:
    """Kept: systems that fewer than k others beat in money, points and both levels at once."""
    kept: list[BassSystem] = []
    merits: list[Merit] = []
    for one in sorted(systems, key=lambda one: (one.cents, one.name)):
        # All that are kept are cheaper, or as cheap and before it by name: they win every tie.
        points, at_1w, travel, unsure = merit = _merit(one)
        beating = 0
        for other_points, other_at_1w, other_travel, other_unsure in merits:
            # No fewer points on any feed: on a doubtful one only what is sure by itself loses some.
            lost = doubt if unsure and not other_unsure else 0
            if (
                other_points + lost >= points
                and other_at_1w >= at_1w
                and other_travel >= travel
                and other_unsure <= unsure
            ):
                beating += 1
                if beating == k:
                    break
        else:
            kept.append(one)
            merits.append(merit)
    return kept


def _merit(one: BassSystem) -> Merit:
    if one.at_1w_cdb is None or one.travel_cdb is None:
        return one.points, -1, -1, one.unsure
    return one.points, one.at_1w_cdb, one.travel_cdb, one.unsure


def levels_of(terms: DriverTerms, drivers: int, boxed: Boxed) -> tuple[int | None, int | None]:
    """Level on 1 W, and level at the end of travel, in hundredths of a decibel."""
    fs, qts, vas, sens, sd, xmax = terms
    net = number(boxed.net_l)
    each = None if net is None else net / drivers
    if boxed.kind == "sealed":
        response = closed_response_db(BASS_HZ, closed_fc_hz(fs, vas, each), closed_qtc(qts, vas, each))
        power = power_level_db(sens, 1.0, response, drivers)
        return _hundredths(power), _hundredths(travel_level_db(displacement_l(sd, xmax, drivers), BASS_HZ))
    if boxed.kind is None:
        return None, None
    system = VentedSystem(fs, qts, vas, each, number(boxed.tuned_hz))
    most = vented_max_level(BASS_HZ, system, sens, 1.0, sd, xmax, drivers)
    if most is None:
        return None, None
    is_free = most.travel_db is None and most.ruled_by == "power"
    return _hundredths(most.power_db), NO_LIMIT_CDB if is_free else _hundredths(most.travel_db)


def _hundredths(level_db: float | None) -> int | None:
    return None if level_db is None else round(100 * level_db)


def number(figure: Decimal | None) -> float | None:
    """A stored figure as the formulas take it."""
    return None if figure is None else float(figure)
