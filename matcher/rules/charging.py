"""Demand of amplifiers and of a new head unit's own channels on charging, and the cable that supplies amplifiers."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.rules.rule import rule
from matcher.rules.subjects import cable, draw, vehicle
from matcher.rules.terms import Either

CHARGING = "sound on a vehicle's charging"
CABLE = "cable from the battery to an amplifier"
FIVE_HOURS = Decimal("0.2")
"""The 5 h current over the charge: up to it Peukert's loss is a quarter at most, so 40 % of the charge, which a start
can spare, lasts for an hour and a half."""

ON_MUSIC = rule(
    "supply.charging",
    scope=CHARGING,
    unit="A",
    have=vehicle.charge_a - vehicle.base_load_a,
    need=draw.music_a,
    compares="charging current less the vehicle's own use against the current of amplifiers and a new head unit on "
    "music",
    flaw="on music the sound draws more than the charging system can spare",
    fix="smaller or more efficient amplifiers; a stronger charging system is a matter for an auto-electrician",
    source=COMMON_PRACTICE,
)
AT_IDLE = rule(
    "supply.idle",
    scope=CHARGING,
    unit="A",
    have=vehicle.charge_idle_a + vehicle.battery_ah * FIVE_HOURS - vehicle.base_load_a,
    need=draw.music_a,
    compares="charging current at idle plus the battery's 5 h current, less the vehicle's own use, against the same "
    "demand",
    flaw="at idle the battery is empty too soon",
    fix="smaller or more efficient amplifiers; music low while the engine idles; a stronger charging system is a "
    "matter for an auto-electrician",
    source=COMMON_PRACTICE,
)
AREA = rule(
    "supply.cable_area",
    scope=CABLE,
    unit="mm2",
    have=cable.area_mm2,
    need=Either(cable.conductor.is_("cca"), draw.cca_mm2, draw.copper_mm2),
    compares="cross-section of the cable against the larger area required by the fuse or by the voltage drop out and "
    "back",
    flaw="too thin for the fuse, or for the voltage lost on the way out and back",
    fix="a thicker cable, of copper rather than copper-clad aluminum",
    source=published("33 CFR 183.425 Table 5 for the current; Ohm's law, out and back, for the drop"),
)
LENGTH = rule(
    "supply.cable_length",
    scope=CABLE,
    unit="m",
    have=cable.length_m,
    need=vehicle.battery_to_cargo_m,
    compares="length of one piece of the cable against the run from the battery",
    flaw="one piece does not reach from the battery to the amplifier",
    fix="a longer piece",
    source=COMMON_PRACTICE,
)
FUSE = rule(
    "supply.cable_fuse",
    scope=CABLE,
    unit="A",
    have=cable.rated_a,
    need=draw.fuse_a,
    compares="maker's current rating of the cable against the fuse",
    flaw="the fuse lets through more than the cable's maker allows",
    fix="a cable with a higher rating by its maker",
    when=cable.rated_a.is_known(),
    source=published("fuse at most what the conductor carries: 46 CFR 183.380(d)"),
)
