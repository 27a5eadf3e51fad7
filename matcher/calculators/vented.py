"""A vented box: volume and tuning that suit a driver, port, corner frequency, and maximum level."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.calculators.bass import (
    BoxInputs,
    ResponsePoint,
    first_known,
    level_figures,
    qts_of,
    response_table,
    sens_1w_of,
    share_of_each,
)
from matcher.calculators.made import Made, made_for
from matcher.formulas import driver, loudness, output, port, vented
from matcher.formulas.output import MaxLevel, VentedSystem
from matcher.settings import Settings

SUITED = "fs_hz qts|qes vas_l drivers"
POWER = f"{SUITED} qes power_w at_hz"


@dataclass(frozen=True, slots=True, kw_only=True)
class Vented(Calculation):
    """Response of drivers in a vented box; volume and tuning follow the alignment unless given."""

    given: BoxInputs
    alignment: Literal["QB3", "B4", "C4"] | None = result(
        "alignment that suits", vented.vented_alignment, driver.total_q, wants=SUITED
    )
    suited_l: float | None = result("its net volume, whole box", vented.vented_alignment, wants=SUITED)
    suited_hz: float | None = result("its tuning", vented.vented_alignment, wants=SUITED)
    ripple_db: float | None = result("its ripple", vented.vented_alignment, wants=SUITED)
    net_l: float | None = result("net volume of the box", wants=SUITED)
    each_l: float | None = result("each driver sees", wants=SUITED)
    tuned_hz: float | None = result("tuned to", wants=SUITED)
    f3_hz: float | None = result("3 dB down at, f3", vented.vented_f3_hz, wants=SUITED)
    peak_db: float | None = result("peak", vented.vented_peak_db, wants=SUITED)
    high_pass_hz: float | None = result("high-pass needed, below it the cone is unloaded", wants=SUITED)
    port_length_mm: float | None = result(
        "length of each port, one end flush", port.port_length_mm, wants=f"{SUITED} port_mm"
    )
    port_air_l: float | None = result("air in the ports", port.port_takes_l, wants=f"{SUITED} port_mm")
    port_air_m_s: float | None = result(
        "air in the port, peak", port.port_air_speed_m_s, wants=f"{POWER} sd_cm2 xmax_mm port_mm", unit="m/s"
    )
    sens_1w_db: float | None = result(
        "one driver at 1 W, 1 m, half space",
        loudness.sens_of_efficiency_db,
        driver.reference_efficiency,
        wants="fs_hz vas_l qes",
    )
    power_db: float | None = result("power allows", output.power_level_db, wants=POWER)
    travel_db: float | None = result("travel allows", output.travel_level_db, wants=f"{SUITED} sd_cm2 xmax_mm at_hz")
    level_db: float | None = result("most at that frequency", output.vented_max_level, wants=f"{POWER} sd_cm2 xmax_mm")
    ruled_by: Literal["power", "travel"] | None = result("ruled by", wants=f"{POWER} sd_cm2 xmax_mm")
    made: Made | None = field(default=None)
    curve: list[ResponsePoint] = field(
        default_factory=list, metadata=table("response, and the most it gives", vented.vented_response_db)
    )


def vented_for(inputs: BoxInputs, settings: Settings) -> Vented:
    """Compute a vented box of the given volume and tuning, or of those that suit the driver."""
    drivers, qts, ql = inputs.driver, qts_of(inputs.driver), float(settings["box_ql"])
    suited = vented.vented_alignment(drivers.fs_hz, qts, drivers.vas_l, ql)
    suited_l = None if suited is None or drivers.drivers is None else suited.net_l * drivers.drivers
    wanted = first_known((inputs.box_l, suited_l))
    made = made_for(inputs, wanted)
    net = wanted if made is None else made.made_net_l
    tuned = first_known((inputs.tuned_hz, None if suited is None else suited.tuned_hz))
    each = share_of_each(net, drivers.drivers)
    system = VentedSystem(drivers.fs_hz, qts, drivers.vas_l, each, tuned)
    most = _most(inputs.at_hz, system, inputs, ql)
    length = port.port_length_mm(net, tuned, inputs.port_mm, ports=inputs.ports)
    return Vented(
        given=inputs,
        alignment=None if suited is None else suited.kind,
        suited_l=suited_l,
        suited_hz=None if suited is None else suited.tuned_hz,
        ripple_db=None if suited is None else suited.ripple_db,
        net_l=net,
        each_l=each,
        tuned_hz=tuned,
        f3_hz=vented.vented_f3_hz(drivers.fs_hz, qts, drivers.vas_l, each, tuned, ql),
        peak_db=vented.vented_peak_db(drivers.fs_hz, qts, drivers.vas_l, each, tuned, ql),
        high_pass_hz=None if tuned is None else tuned * float(settings["subsonic_share"]),
        port_length_mm=length,
        port_air_l=port.port_takes_l(inputs.port_mm, length, inputs.ports),
        port_air_m_s=_air_speed(inputs, most, tuned),
        sens_1w_db=sens_1w_of(drivers),
        **level_figures(most),
        made=made,
        curve=response_table(lambda freq: _response(freq, system, ql), lambda freq: _most(freq, system, inputs, ql)),
        none={} if made is None else made.none(),
        notes=_notes(inputs, settings),
        cautions=[cautions.ESTIMATE, cautions.HEAVY, cautions.HEARING],
    )


def _response(freq: float, system: VentedSystem, ql: float) -> float | None:
    return vented.vented_response_db(freq, system.fs_hz, system.qts, system.vas_l, system.net_l, system.tuned_hz, ql)


def _most(freq: float | None, system: VentedSystem, inputs: BoxInputs, ql: float) -> MaxLevel | None:
    drivers = inputs.driver
    return output.vented_max_level(
        freq,
        system,
        sens_1w_of(drivers),
        drivers.power_w,
        drivers.sd_cm2,
        drivers.xmax_mm,
        drivers.drivers,
        ql=ql,
    )


def _air_speed(inputs: BoxInputs, most: MaxLevel | None, tuned: float | None) -> float | None:
    level = None if most is None else most.level_db
    return port.port_air_speed_m_s(level, inputs.at_hz, tuned, inputs.port_mm, ports=inputs.ports)


def _notes(inputs: BoxInputs, settings: Settings) -> list[str]:
    at = "" if inputs.at_hz is None else f"level and air speed are those at {inputs.at_hz:g} Hz; "
    return [f"{at}losses of the box: a leakage with a Q of {settings['box_ql']}, as moderate boxes measure"]
