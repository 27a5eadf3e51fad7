"""The vehicle's own supply: voltage and which pole is ground come first."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import setting, vehicle
from matcher.rules.terms import Apart, Either, as_term

POWERED = "powered part in a vehicle"

SYSTEM_VOLTAGE = rule(
    "supply.system_voltage",
    scope=POWERED,
    unit="V",
    have=0,
    need=Apart(vehicle.system_v, setting("system_v")),
    compares="difference between the vehicle's nominal voltage and the voltage that powered parts are made for",
    flaw="the vehicle's voltage is not the one this part is made for",
    fix="a converter to 12 V, fused and cooled, or a change of the whole system; a matter for an auto-electrician",
)
GROUND = rule(
    "supply.ground",
    scope=POWERED,
    unit="",
    have=Either(vehicle.ground.is_("negative"), as_term(1), as_term(0)),
    need=1,
    compares="pole of the battery that is connected to the body",
    flaw="the body is the positive pole, and this part's case is its negative",
    fix="an isolated converter with the part's case kept off the body, or a change of the vehicle's polarity; "
    "a matter for an auto-electrician",
)
