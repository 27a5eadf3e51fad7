"""Wiring of a package: links, filters, supply cables and their fuses."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.checks import Answer, Check


@dataclass(frozen=True, slots=True, kw_only=True)
class Link(Answer):
    """One feed: channels of an amplifier to loudspeakers."""

    from_: str
    """The part that feeds."""
    to: list[str]
    """The openings fed."""
    channels: str
    """The channels used and how."""
    load_ohm: Decimal | None
    """Load on each channel, or on each bridged pair."""
    power_w: Decimal | None
    """Power for each loudspeaker."""
    slot: str = ""
    """The slot that feeds: the head unit, the amplifier, or one for bass alone."""
    mode: str = ""
    """Use of the channels: as a pair, shared by two places, bridged, or one for bass."""
    count: int = 0
    """Number of channels used."""
    net: str = ""
    """Wiring of a loudspeaker's coils."""
    beside: list[str] = field(default_factory=list)
    """The openings that share its channels."""
    target_v: Decimal | None = None
    """Gain target: the voltage at the terminals with a full-scale sine, for that power or the loudspeaker's rating,
    whichever is less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filter(Answer):
    """Where the filters of one channel group begin: places that share channels have one filter."""

    from_: str
    """The part that feeds."""
    slot: str
    """The slot that feeds."""
    to: list[str]
    """Every opening on these channels."""
    high_pass_hz: Decimal | None
    """The group plays above this: the highest lower end of its loudspeakers, or a vented box's tuning."""
    low_pass_hz: Decimal | None
    """The group plays below this; none of loudspeakers, which play to the top."""
    unknown: list[str] = field(default_factory=list)
    """Openings whose part states no range: the filter may have to be higher for them."""
    gap_to_hz: Decimal | None = None
    """Of bass: up to here nothing plays above its low-pass, as the loudspeakers begin higher; none without a gap."""
    high_pass_in: str | None = None
    """The slot of the device that has the high-pass, or ``in_line`` if the kit brings it; none if it is not known."""
    low_pass_in: str | None = None
    """The same of the low-pass."""
    high_pass_wanted_hz: Decimal | None = None
    """What the loudspeakers want, where that high-pass ends below it."""
    checks: list[Check] = field(default_factory=list)
    """Whether the filters exist: in the amplifier, or in the head unit before it."""
    says: str = ""
    """The filters in a sentence; empty if the group wants none."""


def link_of(links: list[Link], opening_id: str) -> Link | None:
    """Return the feed of an opening."""
    return next((one for one in links if opening_id in one.to), None)


def channels_of(links: list[Link], filters: list[Filter], opening_id: str) -> range:
    """Return the numbers of the channels that feed an opening, from 1 at what feeds it; empty if not known."""
    used: dict[str, int] = {}
    for group in filters:
        link, first = link_of(links, group.to[0]), used.get(group.from_, 1)
        numbers = range(first, first + (0 if link is None else link.count))
        if opening_id in group.to:
            return numbers
        used[group.from_] = numbers.stop
    return range(0)


def joins_coils(net: str) -> bool:
    """Whether a wiring joins several coils: that of a single one, ``1``, has nothing to state."""
    return len(net) > 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead(Answer):
    """The supply cable of one amplifier, from the battery, with its fuse."""

    part_id: str
    """The amplifier."""
    full_a: Decimal | None
    """Its current at full sine."""
    fuse_a: Decimal | None
    """Its fuse at the battery."""
    fuse_color: str | None
    """Color of that fuse, if it is a blade fuse."""
    cable_id: str | None
    """The cable chosen."""
    cable_mm2: Decimal | None
    """Area of that cable, or of the copper that would do, if none is chosen."""
    run_m: Decimal | None
    """Length of the way from the battery."""
    ground: str | None = None
    """Ground at its spot: ``body`` or ``cable``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply(Answer):
    """Demand of a package on the vehicle's supply."""

    full_a: Decimal | None
    """Current of all amplifiers at full sine, by the power that counts."""
    music_a: Decimal | None
    """Their current on music, with that of a new head unit's own channels that the plan takes beside them."""
    spare_a: Decimal | None
    """Spare charging current at its rating; negative if the battery has to add to it."""
    cable_mm2: Decimal | None
    """Area of the thickest cable chosen, or of the copper that would do if none is."""
    fuse_a: Decimal | None
    """The largest fuse at the battery, one for each cable."""
    standby_ma: Decimal | None
    """Standby drain of all parts of the package."""
    idle_spare_a: Decimal | None = None
    """Spare charging current at idle."""
    idle_battery_min: Decimal | None = None
    """Time for which the battery covers the current missing at idle; None if none is missing, or if not known."""
    off_battery_min: Decimal | None = None
    """Time for which the battery alone carries music; None if not known."""
    days_at_rest: Decimal | None = None
    """Days at rest until the share of the battery that may be used is gone, the car's own drain included."""
    fuse_color: str | None = None
    """Color of that fuse where it is a blade fuse."""
    fuse_within_mm: Decimal | None = None
    """Largest distance of the fuse from the battery, along the cable."""
    leads: list[Lead] = field(default_factory=list)
    """The cable of each amplifier with its fuse."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KitLine(Answer):
    """One item of a package's kit: what else has to be in the van."""

    kind: str
    """Item: a kind of the family `install`, or the supply cable if no list has one."""
    label: str
    """The same in words, with its size."""
    quantity: Decimal
    """Quantity used, in its unit."""
    unit: str
    """``piece``, ``m`` or ``m2``."""
    size: Decimal | None
    """Rating or cross-section; none if it has none, or none that is known."""
    size_unit: str
    """``A`` or ``mm2``; empty if it has no size."""
    part_id: str | None
    """The part of the catalog; none if no list has one."""
    packs: int
    """Whole packs that hold the quantity."""
    price: Decimal
    """Price of the quantity used; of an item of no list the shop's estimate."""
    priced: bool
    """Whether a list has it."""
    estimated: bool = False
    """Whether the quantity is the shop's estimate: the car's way for it was not measured."""
