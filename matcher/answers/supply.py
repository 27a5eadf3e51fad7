"""Current drawn by a package's amplifiers: the answer, and checks by its rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from catalog_schema.answers import Check, Lead, Supply
from matcher.formulas.fuse import blade_color
from matcher.formulas.supply import battery_pays, charging_headroom, days_at_rest
from matcher.kernel.columns import columns_of
from matcher.rules.charging import CABLE, CHARGING
from matcher.rules.rule import rules_of
from matcher.search.candidates.supply import has_cable, need_of, run_to, vehicle_at_run
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell as plain_cell
from matcher.search.feeds.parts import AmplifierDraw, Candidate
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion

THOUSAND = Decimal(1000)
UNKNOWN_CABLE = columns_of("cable", [dict.fromkeys(("conductor", "area_mm2", "length_m", "rated_a"))])
ELECTRICAL = ("charge_a", "charge_idle_a", "base_load_a", "battery_ah", "battery_to_cargo_m")


@dataclass(frozen=True, slots=True)
class Powered:
    """An amplifier of a package with its current and cable."""

    part: Candidate
    draw: AmplifierDraw
    cable: Candidate | None


def powered_of(fitted: Sequence[PackageCandidate]) -> list[Powered]:
    """Return the amplifiers of a package."""
    return [
        Powered(one, one.draw, next((other for other in one.along if other.slot == "cable"), None))
        for one in (each.candidate for each in fitted)
        if one.draw is not None and one.slot != "head_unit"
    ]


def supply_of(catalog: Catalog, question: JobQuestion, fitted: Sequence[PackageCandidate]) -> Supply | None:
    """Return the current and supply of a package; None if it has no amplifier."""
    powered = powered_of(fitted)
    if not powered:
        return None
    car = electrical(catalog, question)
    share = float(catalog.settings["battery_share_pct"]) / 100
    full, music = _amperes([one.draw.full_ma for one in powered]), _music_a(powered, fitted)
    left = charging_headroom(car["charge_a"], car["charge_idle_a"], car["base_load_a"])
    fuses = [one.draw.fuse_a for one in powered if one.draw.fuse_a is not None]
    resting = [None if one.candidate.unsure_drain else one.candidate.drain_ua for one in fitted]
    standby = _amperes(resting)
    return Supply(
        full_a=full,
        music_a=music,
        spare_a=_less(left.rated_a, music),
        cable_mm2=_thickest(catalog, powered),
        fuse_a=max(fuses, default=None),
        standby_ma=standby,
        idle_spare_a=_less(left.idle_a, music),
        idle_battery_min=_minutes(music, left.idle_a, car["battery_ah"], share),
        off_battery_min=_minutes(music, 0.0, car["battery_ah"], share),
        days_at_rest=_rounded(_days(car["battery_ah"], standby, _rest_ma(catalog, question), share)),
        fuse_color=blade_color(_float(max(fuses, default=None))),
        fuse_within_mm=catalog.settings["fuse_distance_mm"],
        leads=[_lead(catalog, one, question.job.vehicle_id) for one in powered],
    )


def _music_a(powered: Sequence[Powered], fitted: Sequence[PackageCandidate]) -> Decimal | None:
    """Current on music of the amplifiers, and of a new head unit's own channels beside them."""
    own = [one.candidate.draw.music_ma for one in fitted if one.candidate.slot == "head_unit" and one.candidate.draw]
    return _amperes([*(one.draw.music_ma for one in powered), *own])


def _rest_ma(catalog: Catalog, question: JobQuestion) -> Decimal:
    """Return the vehicle's own standby drain, or the shop's estimate if it was not measured."""
    own: Decimal | None = catalog.vehicle(question.job.vehicle_id).row.get("rest_ma")
    return catalog.settings["car_rest_ma"] if own is None else own


def _lead(catalog: Catalog, one: Powered, vehicle_id: str) -> Lead:
    """Return the cable of an amplifier with its fuse."""
    return Lead(
        part_id=str(one.part.part_id),
        full_a=_amperes([one.draw.full_ma]),
        fuse_a=one.draw.fuse_a,
        fuse_color=blade_color(_float(one.draw.fuse_a)),
        cable_id=None if one.cable is None else one.cable.part_id,
        cable_mm2=_thickest(catalog, [one]),
        run_m=run_to(catalog, vehicle_id, str(one.part.opening_id)),
        ground=catalog.vehicle(vehicle_id).opening_row("amp_spot", str(one.part.opening_id)).get("ground"),
    )


def supply_checks(catalog: Catalog, question: JobQuestion, fitted: Sequence[PackageCandidate]) -> list[Check]:
    """Check the charging current for all amplifiers together, then the cable of each."""
    powered = powered_of(fitted)
    if not powered:
        return []
    return [
        *_charging_checks(catalog, question, powered, _music_a(powered, fitted)),
        *(check for one in powered for check in _cable_checks(catalog, question, one)),
    ]


def _charging_checks(
    catalog: Catalog, question: JobQuestion, powered: list[Powered], music_a: Decimal | None
) -> list[Check]:
    vehicle = question.job.vehicle_id
    draw = columns_of("draw", [{"music_a": music_a}])
    (checks,) = catalog.explain(rules_of(CHARGING), draw | catalog.vehicle(vehicle).columns)
    wants = [name for one in powered for name in _draw_wants(one)]
    return [_named(check, {"draw": wants}, vehicle, None, "amplifier") for check in checks]


def _cable_checks(catalog: Catalog, question: JobQuestion, one: Powered) -> list[Check]:
    """Check an amplifier's cable; if none can be chosen yet, report the figures to measure first."""
    vehicle = question.job.vehicle_id
    if one.cable is None and (need_of(one.draw) is not None or not has_cable(catalog)):
        return []
    name = None if one.cable is None else str(one.cable.part_id)
    cable = UNKNOWN_CABLE if name is None else catalog.part("cable", name, "cable")
    draw = columns_of("draw", [{field: getattr(one.draw, field) for field in ("fuse_a", "copper_mm2", "cca_mm2")}])
    run_m = run_to(catalog, vehicle, str(one.part.opening_id))
    (checks,) = catalog.explain(rules_of(CABLE), draw | cable | vehicle_at_run(catalog, vehicle, run_m))
    run = [] if run_m is not None else [f"vehicle:{vehicle}.battery_to_cargo_m"]
    wants, about = {"draw": [*_draw_wants(one), *run]}, f"cable to {one.part.part_id}"
    named = [_named(check, wants, vehicle, name, about) for check in checks]
    return [check for check in named if check.missing or check.margin is not None]


def _draw_wants(one: Powered) -> list[str]:
    return [f"part:{one.part.part_id}.{field}" for field in one.draw.wants]


def _named(check: Check, wants: dict[str, list[str]], vehicle: str, cable: str | None, about: str) -> Check:
    """Return a check with its open figures renamed to where they are stored."""

    def named(figures: list[str]) -> list[str]:
        names: list[str] = []
        for subject, _, field in (figure.partition(".") for figure in figures):
            kept_at = {"vehicle": [f"vehicle:{vehicle}.{field}"], "cable": [f"part:{cable}.{field}"] if cable else []}
            names += wants.get(subject) or kept_at.get(subject, [])
        return list(dict.fromkeys(names))

    return replace(check, about=about, missing=named(check.missing), loose=named(check.loose))


def electrical(catalog: Catalog, question: JobQuestion) -> dict[str, float | None]:
    """Return the figures of the vehicle's supply and of its cable run to the cargo space."""
    row = catalog.vehicle(question.job.vehicle_id).row
    return {name: _float(row.get(name)) for name in ELECTRICAL}


def _thickest(catalog: Catalog, powered: list[Powered]) -> Decimal | None:
    """Return the area of the thickest chosen cable, or of sufficient copper if none is chosen."""
    chosen = [str(one.cable.part_id) for one in powered if one.cable is not None]
    areas = [plain_cell(catalog.part("cable", name)["part.area_mm2"], 0) for name in chosen]
    known = [area for area in areas if area is not None]
    needed = [one.draw.copper_mm2 for one in powered if one.draw.copper_mm2 is not None]
    return max(known or needed, default=None)


def _amperes(thousandths: list[int | None]) -> Decimal | None:
    """Return the sum of milliamperes in amperes, or of microamperes in milliamperes; unknown if one is unknown."""
    known = [figure for figure in thousandths if figure is not None]
    return Decimal(sum(known)) / THOUSAND if len(known) == len(thousandths) else None


def _less(left_a: float | None, music_a: Decimal | None) -> Decimal | None:
    return None if left_a is None or music_a is None else _rounded(left_a - float(music_a))


def _minutes(music_a: Decimal | None, left_a: float | None, battery_ah: float | None, share: float) -> Decimal | None:
    pays = battery_pays(_float(music_a), left_a, battery_ah, share)
    return None if pays is None or pays.lasts_h is None else _rounded(60 * pays.lasts_h)


def _days(battery_ah: float | None, standby_ma: Decimal | None, car_ma: Decimal, share: float) -> float | None:
    """Return the days until a start is in doubt; the car's own drain is added to that of the parts."""
    return None if standby_ma is None else days_at_rest(battery_ah, float(standby_ma + car_ma), share)


def _rounded(number: float | None) -> Decimal | None:
    return None if number is None else round(Decimal(repr(number)), 1)


def _float(number: Decimal | None) -> float | None:
    return None if number is None else float(number)
