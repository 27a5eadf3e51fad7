"""The supply: what amplifiers draw, what charging leaves, how long the battery pays, what drains at rest."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from catalog_schema.answers import Answer
from matcher.explain.calc import cautions
from matcher.explain.calc.answer import Calculation, table, told
from matcher.formulas import battery, supply
from matcher.formulas.supply import AmplifierClass, Music
from matcher.settings import Settings

AMPS = "amplifiers"


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierAsked(Answer):
    """One amplifier: its continuous power, all channels together, its class, and what it plays."""

    power_w: float | None = None
    class_: AmplifierClass | None = None
    music: Music = "rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyAsked(Answer):
    """Amplifiers on a vehicle's supply."""

    amplifiers: list[AmplifierAsked] = field(default_factory=list)
    volts_v: float | None = None
    charge_a: float | None = None
    idle_a: float | None = None
    base_load_a: float | None = None
    battery_ah: float | None = None
    reserve_min: float | None = None
    drains_ma: list[float] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw(Answer):
    """What one amplifier draws."""

    amplifier: str = told("amplifier")
    full_a: float | None = told("full sine")
    music_a: float | None = told("on music")
    eighth_power_a: float | None = told("least at 1/8 of its power", blank="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Endurance(Answer):
    """How long the battery adds what charging does not give."""

    engine: str = told("engine")
    plays: str = told("plays")
    spare_a: float | None = told("spare")
    battery_adds_a: float | None = told("battery adds")
    minutes_min: float | None = told("for", blank="–")


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyAnswer(Calculation):
    """Demand, headroom, endurance and rest."""

    asked: SupplyAsked
    full_a: float | None = told(
        "full sine, all amplifiers",
        supply.full_sine_current_a,
        supply.amplifier_efficiency,
        wants=f"{AMPS} volts_v",
    )
    music_a: float | None = told("on music", supply.music_current_a, wants=f"{AMPS} volts_v")
    headroom_rated_a: float | None = told(
        "charging leaves, rated", supply.charging_headroom, wants="charge_a base_load_a"
    )
    headroom_idle_a: float | None = told(
        "charging leaves, at idle", supply.charging_headroom, wants="idle_a base_load_a"
    )
    battery_ah: float | None = told("battery", battery.reserve_ah, wants="battery_ah|reserve_min")
    drain_ma: float | None = told("drain at rest", supply.standby_ma, wants="drains_ma")
    drain_most_ma: float | None = told("at most")
    drain_verdict: Literal["fits", "no"] | None = told("within that", wants="drains_ma")
    days: float | None = told(
        "days until the share is gone", supply.days_at_rest, wants="battery_ah|reserve_min drains_ma", unit="days"
    )
    draws: list[Draw] = field(
        default_factory=list, metadata=table("amplifiers", supply.full_sine_current_a, supply.class_b_current_a)
    )
    endurance: list[Endurance] = field(
        default_factory=list, metadata=table("how long the battery pays", supply.battery_pays)
    )


def supply_for(asked: SupplyAsked, settings: Settings) -> SupplyAnswer:
    """What amplifiers ask of charging and battery, playing and at rest."""
    share = float(settings["battery_share_pct"]) / 100
    draws = [_draw(each, asked.volts_v, settings) for each in asked.amplifiers]
    full, music = _sum([each.full_a for each in draws]), _sum([each.music_a for each in draws])
    left = supply.charging_headroom(asked.charge_a, asked.idle_a, asked.base_load_a)
    charge_ah = asked.battery_ah if asked.battery_ah is not None else battery.reserve_ah(asked.reserve_min)
    drain, most = supply.standby_ma(asked.drains_ma) if asked.drains_ma else None, float(settings["at_rest_ma"])
    return SupplyAnswer(
        asked=asked,
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
        notes=[f"{100 * share:g} % of the battery's charge is counted on, in minutes and in days"],
        cautions=[cautions.BATTERY, cautions.FUEL, cautions.IN_DOUBT],
    )


def _draw(amplifier: AmplifierAsked, volts_v: float | None, settings: Settings) -> Draw:
    known = amplifier.class_ is not None
    efficiency = float(settings[f"amplifier_efficiency.{amplifier.class_}"]) if known else None
    full = supply.full_sine_current_a(amplifier.power_w, efficiency, volts_v)
    part = float(settings["music_part.bass" if amplifier.music == "heavy bass" else "music_part.rest"])
    # Class AB loses efficiency as it plays softer, so the share of its full current can be too low for it.
    floor = supply.class_b_current_a(amplifier.power_w, volts_v, 1 / 8) if amplifier.class_ == "ab" else None
    power = "power not known" if amplifier.power_w is None else f"{amplifier.power_w:g} W"
    kind = "class not known" if amplifier.class_ is None else f"class {amplifier.class_.upper()}"
    return Draw(
        amplifier=f"{power}, {kind}, {'heavy bass' if amplifier.music == 'heavy bass' else 'no heavy bass'}",
        full_a=full,
        music_a=None if full is None else full / part,
        eighth_power_a=floor,
    )


def _sum(figures: list[float | None]) -> float | None:
    known = [figure for figure in figures if figure is not None]
    return sum(known) if known and len(known) == len(figures) else None


def _endurance(
    full: float | None, music: float | None, left: supply.Headroom, charge_ah: float | None, share: float
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
                )
            )
    return made
