"""Power supply: amplifier current, spare charging current, battery endurance, standby drain."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal

from catalog_schema.answers import Answer
from matcher.answers.claims import amplifier_claims
from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.formulas import battery, claims, supply
from matcher.formulas.supply import AmplifierClass, Music
from matcher.search.candidates.draws import FIGURES, draw_of
from matcher.search.catalog.counted import counted_powers
from matcher.settings import Settings

AMPS = "amplifiers"


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierLoad(Answer):
    """One amplifier: its continuous power over all channels, its class, and the music it plays."""

    power_w: float | None = None
    class_: AmplifierClass | None = None
    music: Music = "rest"
    own_fuse_a: float | None = None
    stated_a: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyInputs(Answer):
    """Amplifiers on a vehicle's supply."""

    amplifiers: list[AmplifierLoad] = field(default_factory=list)
    volts_v: float | None = None
    charge_a: float | None = None
    idle_a: float | None = None
    base_load_a: float | None = None
    battery_ah: float | None = None
    reserve_min: float | None = None
    drains_ma: list[float] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierCurrent(Answer):
    """Current drawn by one amplifier."""

    amplifier: str = result("amplifier")
    counted_w: float | None = result("power that counts")
    full_a: float | None = result("full sine")
    music_a: float | None = result("on music")
    fuse_a: float | None = result("fuse at the battery")


@dataclass(frozen=True, slots=True, kw_only=True)
class Endurance(Answer):
    """Time for which the battery covers the missing charging current."""

    engine: str = result("engine")
    plays: str = result("plays")
    spare_a: float | None = result("spare")
    battery_adds_a: float | None = result("battery adds")
    minutes_min: float | None = None
    says: str = result("for")


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyAnswer(Calculation):
    """Demand, headroom, endurance and standby time."""

    given: SupplyInputs
    full_a: float | None = result(
        "full sine, all amplifiers",
        supply.full_sine_current_a,
        wants=f"{AMPS} volts_v",
    )
    music_a: float | None = result("on music", supply.current_share, wants=f"{AMPS} volts_v")
    headroom_rated_a: float | None = result(
        "charging leaves, rated", supply.charging_headroom, wants="charge_a base_load_a"
    )
    headroom_idle_a: float | None = result(
        "charging leaves, at idle", supply.charging_headroom, wants="idle_a base_load_a"
    )
    battery_ah: float | None = result("battery", battery.reserve_ah, wants="battery_ah|reserve_min")
    drain_ma: float | None = result("standby drain", supply.standby_ma, wants="drains_ma")
    drain_most_ma: float | None = result("at most")
    drain_verdict: Literal["fits", "no"] | None = result("within that", wants="drains_ma")
    days: float | None = result(
        "days until the share is gone", supply.days_at_rest, wants="battery_ah|reserve_min drains_ma", unit="days"
    )
    draws: list[AmplifierCurrent] = field(
        default_factory=list,
        metadata=table(
            "amplifiers", claims.power_bound_w, supply.full_sine_current_a, supply.current_share, supply.main_fuse_a
        ),
    )
    endurance: list[Endurance] = field(
        default_factory=list, metadata=table("how long the battery pays", supply.battery_pays)
    )


def supply_for(inputs: SupplyInputs, settings: Settings) -> SupplyAnswer:
    """Compute the demand of amplifiers on charging and battery, playing and in standby."""
    share = float(settings["battery_share_pct"]) / 100
    at_volts = _at_volts(inputs.volts_v, settings)
    draws = [_draw(each, inputs.volts_v, at_volts) for each in inputs.amplifiers]
    doubted = [claim.says for one in inputs.amplifiers for claim in amplifier_claims("", _figures_of(one), at_volts)]
    full, music = _sum([each.full_a for each in draws]), _sum([each.music_a for each in draws])
    left = supply.charging_headroom(inputs.charge_a, inputs.idle_a, inputs.base_load_a)
    charge_ah = inputs.battery_ah if inputs.battery_ah is not None else battery.reserve_ah(inputs.reserve_min)
    drain, most = supply.standby_ma(inputs.drains_ma) if inputs.drains_ma else None, float(settings["at_rest_ma"])
    return SupplyAnswer(
        given=inputs,
        full_a=full,
        music_a=music,
        headroom_rated_a=left.rated_a,
        headroom_idle_a=left.idle_a,
        battery_ah=charge_ah,
        drain_ma=drain,
        drain_most_ma=most,
        drain_verdict=None if drain is None else "fits" if drain <= most else "no",
        days=supply.days_at_rest(charge_ah, drain, share),
        draws=draws,
        endurance=_endurance(full, music, left, charge_ah, share),
        none={"days": "no drain, no end"} if drain == 0 and charge_ah else {},
        notes=[
            *doubted,
            f"{100 * share:g} % of the battery's charge is counted on, in minutes and in days",
            f"over the current that empties the battery in {supply.MILD_H:g} h its time is not known",
        ],
        cautions=[cautions.BATTERY, cautions.FUEL, cautions.IN_DOUBT],
    )


def _at_volts(volts_v: float | None, settings: Settings) -> Settings:
    return (
        settings
        if volts_v is None
        else Settings({**settings.own, "rail_v": Decimal(repr(volts_v))}, settings.own_words)
    )


def _figures_of(amplifier: AmplifierLoad) -> dict[str, Any]:
    """Describe the amplifier as a part with one channel that delivers all its power."""
    given = {"full_w_4ohm": amplifier.power_w, "fuse_a": amplifier.own_fuse_a, "current_a": amplifier.stated_a}
    known = {name: None if figure is None else Decimal(repr(figure)) for name, figure in given.items()}
    return dict.fromkeys(FIGURES) | {"full_channels": 1, "bass_channels": 0, "class": amplifier.class_} | known


def _draw(amplifier: AmplifierLoad, volts_v: float | None, settings: Settings) -> AmplifierCurrent:
    figures = _figures_of(amplifier)
    counted = counted_powers(figures, settings)["full_w_4ohm"]
    found = draw_of(figures, amplifier.music == "heavy bass", None, settings)
    power = "power not known" if amplifier.power_w is None else f"{amplifier.power_w:g} W"
    kind = "class not known" if amplifier.class_ is None else f"class {amplifier.class_.upper()}"
    is_known = volts_v is not None
    return AmplifierCurrent(
        amplifier=f"{power}, {kind}, {'heavy bass' if amplifier.music == 'heavy bass' else 'no heavy bass'}",
        counted_w=None if counted is None else float(counted),
        full_a=found.full_ma / 1000 if is_known and found.full_ma is not None else None,
        music_a=found.music_ma / 1000 if is_known and found.music_ma is not None else None,
        fuse_a=float(found.fuse_a) if is_known and found.fuse_a is not None else None,
    )


def _sum(figures: list[float | None]) -> float | None:
    known = [figure for figure in figures if figure is not None]
    return sum(known) if known and len(known) == len(figures) else None


def _endurance(
    full: float | None, music: float | None, left: supply.SpareCurrent, charge_ah: float | None, share: float
) -> list[Endurance]:
    engines = (("rated speed", left.rated_a), ("idle", left.idle_a), ("off", 0.0))
    made = []
    for engine, headroom in engines:
        for plays, demand in (("full sine", full), ("music", music)):
            pays = supply.battery_pays(demand, headroom, charge_ah, share)
            spare = None if demand is None or headroom is None else headroom - demand
            hours = None if pays is None else pays.lasts_h
            made.append(
                Endurance(
                    engine=engine,
                    plays=plays,
                    spare_a=spare,
                    battery_adds_a=None if spare is None else max(0.0, -spare),
                    minutes_min=None if hours is None else 60 * hours,
                    says=_lasts(spare, hours),
                )
            )
    return made


def _lasts(spare_a: float | None, hours: float | None) -> str:
    if hours is not None:
        return f"{60 * hours:.4g} min"
    return "not known" if spare_a is None or spare_a < 0 else "no need"
