"""A closed box: Q, resonance, corner frequency, peak, maximum level, and the volume for a wanted Q."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.calculators.bass import (
    BoxInputs,
    DriversInputs,
    ResponsePoint,
    first_known,
    level_figures,
    qts_of,
    response_table,
    sens_1w_of,
    share_of_each,
)
from matcher.calculators.made import Made, made_for
from matcher.formulas import box, driver, loudness, output
from matcher.formulas.box import ClosedBox
from matcher.formulas.output import MaxLevel
from matcher.settings import Settings

VOLUME = "box_l|qtc|space_w_mm"
Q = f"qts|qes vas_l drivers {VOLUME}"
RESONANCE = f"fs_hz {Q}"
POWER = f"{RESONANCE} qes power_w at_hz"
TRAVEL = "sd_cm2 xmax_mm drivers at_hz"


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed(Calculation):
    """Response of drivers in a closed box."""

    given: BoxInputs
    net_l: float | None = result("net volume of the box", wants=f"{VOLUME} drivers")
    each_l: float | None = result("each driver sees", wants=f"{VOLUME} drivers")
    qtc: float | None = result("Qtc", box.closed_qtc, driver.total_q, wants=Q)
    band: Literal["under", "within", "over"] | None = result("of the preferred band", wants=Q)
    fc_hz: float | None = result("resonance in the box, fc", box.closed_fc_hz, wants=RESONANCE)
    f3_hz: float | None = result("3 dB down at, f3", box.closed_f3_hz, wants=RESONANCE)
    peak_db: float | None = result("peak", box.closed_peak_db, wants=RESONANCE)
    peak_hz: float | None = result("peak at", box.closed_peak_hz, wants=RESONANCE)
    sens_1w_db: float | None = result(
        "one driver at 1 W, 1 m, half space",
        loudness.sens_of_efficiency_db,
        driver.reference_efficiency,
        wants="fs_hz vas_l qes",
    )
    power_db: float | None = result("power allows", output.power_level_db, wants=POWER)
    travel_db: float | None = result("travel allows", output.travel_level_db, wants=TRAVEL)
    level_db: float | None = result("most at that frequency", output.closed_max_level, wants=f"{POWER} sd_cm2 xmax_mm")
    ruled_by: Literal["power", "travel"] | None = result("ruled by", wants=f"{POWER} sd_cm2 xmax_mm")
    made: Made | None = field(default=None)
    curve: list[ResponsePoint] = field(
        default_factory=list, metadata=table("response, and the most it gives", box.closed_response_db)
    )


def closed_for(inputs: BoxInputs, settings: Settings) -> Closed:
    """Compute a closed box of the given volume, for the wanted Q, or made to measure for a space.

    If the space is too small for the volume, the box that fits is used.
    """
    drivers, qts = inputs.driver, qts_of(inputs.driver)
    wanted = first_known((inputs.box_l, _volume_for(inputs, qts)))
    made = made_for(inputs, wanted)
    net = wanted if made is None else made.made_net_l
    found = box.closed_box(drivers.fs_hz, qts, drivers.vas_l, net, drivers.drivers)
    each = share_of_each(net, drivers.drivers)
    qtc = box.closed_qtc(qts, drivers.vas_l, each)
    most = _most(inputs.at_hz, found, drivers)
    return Closed(
        given=inputs,
        net_l=net,
        each_l=each,
        qtc=qtc,
        band=_band(qtc, settings),
        fc_hz=box.closed_fc_hz(drivers.fs_hz, drivers.vas_l, each),
        f3_hz=None if found is None else found.f3_hz,
        peak_db=None if found is None else found.peak_db,
        peak_hz=None if found is None else found.peak_hz,
        sens_1w_db=sens_1w_of(drivers),
        **level_figures(most),
        made=made,
        curve=_curve(found, drivers),
        none=_no_peak(found) | ({} if made is None else made.none()),
        notes=_notes(inputs, settings),
        cautions=[cautions.ESTIMATE, cautions.HEAVY, cautions.HEARING],
    )


def _volume_for(inputs: BoxInputs, qts: float | None) -> float | None:
    each, drivers = box.closed_volume_l(qts, inputs.driver.vas_l, inputs.qtc), inputs.driver.drivers
    return None if each is None or drivers is None else each * drivers


def _band(qtc: float | None, settings: Settings) -> Literal["under", "within", "over"] | None:
    if qtc is None:
        return None
    if qtc < float(settings["qtc_preferred_least"]):
        return "under"
    return "over" if qtc > float(settings["qtc_preferred_most"]) else "within"


def _most(freq: float | None, found: ClosedBox | None, drivers: DriversInputs) -> MaxLevel | None:
    return output.closed_max_level(
        freq,
        found,
        sens_1w_of(drivers),
        drivers.power_w,
        drivers.sd_cm2,
        drivers.xmax_mm,
        drivers.drivers,
    )


def _curve(found: ClosedBox | None, drivers: DriversInputs) -> list[ResponsePoint]:
    if found is None:
        return []
    return response_table(
        lambda freq: box.closed_response_db(freq, found.fc_hz, found.qtc),
        lambda freq: _most(freq, found, drivers),
    )


def _no_peak(found: ClosedBox | None) -> dict[str, str]:
    return {"peak_hz": "no peak"} if found is not None and found.peak_hz is None else {}


def _notes(inputs: BoxInputs, settings: Settings) -> list[str]:
    at = "" if inputs.at_hz is None else f"the level is that at {inputs.at_hz:g} Hz; "
    least, most = (settings[f"qtc_preferred_{end}"] for end in ("least", "most"))
    return [f"{at}the preferred band of Qtc is {least} to {most}; 0.707 is flattest"]
