"""The bass side of a package: the result of drivers, wiring and box, and a check by every rule."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Bass, BassLevel, BoxPanel, BoxSize, Check
from matcher.answers.fitted import filling
from matcher.answers.line_level import line_checks
from matcher.answers.messages_bass import bass_notes
from matcher.formulas.made_box import cut_list
from matcher.formulas.output import VentedSystem
from matcher.formulas.vented import vented_f3_hz, vented_peak_db
from matcher.rules.bass import BASS
from matcher.rules.cargo import CARGO
from matcher.rules.holding import HOLDING
from matcher.rules.rule import rules_of
from matcher.search.bass.made import as_part
from matcher.search.bass.systems import BassFigures, BassSystem, MadeShape
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import BlockLink
from matcher.search.fits.mounting import stands_at
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion
from matcher.settings import Settings

PRICES_OF_MADE = "the shop's settings.made_box_extras_price"
"""Name for the prices of a made-to-measure box in the list of missing figures."""


def bass_of(catalog: Catalog, fitted: list[PackageCandidate]) -> Bass | None:
    """Return the bass side of a package; None if it has no bass."""
    one = next((one for one in fitted if one.bass is not None and one.link is not None), None)
    if one is None or one.bass is None or one.link is None or one.coils is None:
        return None
    system, settings = one.bass, catalog.settings
    closed, shape, vented = system.figures.closed, system.shape, system.figures.vented
    levels = _levels(system, one.link, settings)
    is_vented = system.figures.kind == "vented"
    found = Bass(
        drivers=system.drivers,
        net=one.coils.net,
        load_ohm=one.link.load_ohm,
        box_net_l=system.figures.net_l,
        qtc=None if closed is None else round(closed.qtc, 3),
        fc_hz=None if closed is None else round(closed.fc_hz, 1),
        f3_hz=_f3_hz(system.figures, settings),
        mean_db=_mean([each.level_db for each in levels]),
        spread_db=_spread([each.level_db for each in levels]),
        levels=levels,
        kind=system.figures.kind,
        tuned_hz=system.figures.tuned_hz if is_vented else None,
        peak_db=_peak_db(vented, settings["box_ql"]) if is_vented else None,
        peak_most_db=_peak_db(vented, settings["box_ql_most"]) if is_vented else None,
        high_pass_hz=_high_pass_hz(system.figures.tuned_hz, settings) if is_vented else None,
        estimated=list(system.figures.estimated),
        outer=None if shape is None else _size(shape),
        panels=[] if shape is None else _panels(shape, float(settings["board_mm"])),
    )
    return replace(found, notes=bass_notes(found, settings))


def _levels(system: BassSystem, link: BlockLink, settings: Settings) -> list[BassLevel]:
    return [
        BassLevel(hz=each.freq_hz, level_db=round(each.level_db, 2), ruled_by=str(each.ruled_by))
        for each in system.told_levels(link, settings)
        if each.level_db is not None
    ]


def _mean(levels: list[float]) -> float | None:
    return round(sum(levels) / len(levels), 2) if levels else None


def _spread(levels: list[float]) -> float | None:
    return round(max(levels) - min(levels), 2) if levels else None


def _peak_db(one: VentedSystem, ql: Decimal) -> float | None:
    peak = vented_peak_db(one.fs_hz, one.qts, one.vas_l, one.net_l, one.tuned_hz, float(ql))
    return None if peak is None else round(peak, 2)


def _high_pass_hz(tuned_hz: Decimal | None, settings: Settings) -> Decimal | None:
    return None if tuned_hz is None else round(tuned_hz * settings["subsonic_share"], 1)


def _f3_hz(figures: BassFigures, settings: Settings) -> float | None:
    if figures.kind == "sealed":
        return None if figures.closed is None else round(figures.closed.f3_hz, 1)
    if figures.kind != "vented":
        return None
    one = figures.vented
    f3 = vented_f3_hz(one.fs_hz, one.qts, one.vas_l, one.net_l, one.tuned_hz, float(settings["box_ql"]))
    return None if f3 is None else round(f3, 1)


def _size(shape: MadeShape) -> BoxSize:
    w, h, d, d_top = (
        Decimal(str(side)) for side in (shape.outer.w_mm, shape.outer.h_mm, shape.outer.d_mm, shape.outer.d_top_mm)
    )
    return BoxSize(w_mm=w, h_mm=h, d_mm=d, d_top_mm=d_top, mass_kg=Decimal(str(round(shape.mass_kg, 2))))


def _panels(shape: MadeShape, board_mm: float) -> list[BoxPanel]:
    return [
        BoxPanel(
            panel=panel.name,
            count=panel.count,
            length_mm=round(panel.length_mm, 1),
            width_mm=round(panel.width_mm, 1),
            width_top_mm=None if panel.width_top_mm is None else round(panel.width_top_mm, 1),
            bevel_deg=round(panel.bevel_deg, 1),
        )
        for panel in cut_list(shape.outer, board_mm) or ()
    ]


def bass_checks(catalog: Catalog, question: JobQuestion, fitted: list[PackageCandidate]) -> list[Check]:
    """Check by every rule the drivers in their box, a made box, and an amplifier for bass alone."""
    systems = [one.bass for one in fitted if one.bass is not None and one.link is not None]
    own = [one.candidate for one in fitted if one.candidate.slot == "bass_amplifier"]
    head = filling("head_unit", fitted)
    return [
        *(check for system in systems for check in _system_checks(question, system, catalog)),
        *(check for one in own for check in line_checks(catalog, head, one, "bass amplifier")),
    ]


def _system_checks(question: JobQuestion, system: BassSystem, catalog: Catalog) -> list[Check]:
    columns = system.columns
    (found,) = catalog.explain(rules_of(BASS), columns)
    if system.shape is not None:
        (held,) = catalog.explain([*rules_of(CARGO), *rules_of(HOLDING)], columns | as_part(columns))
        found = [*found, *(check for check in held if stands_at(check, system.box.step))]
    place, driver = str(system.box.opening_id), f"part:{system.driver.part_id}"
    kept_at = {
        "part": driver,
        "box": driver if system.shape is not None else f"part:{system.box.part_id}",
        "opening": f"opening:{question.job.vehicle_id}/{place}",
    }
    made = system.shape is not None
    return [replace(check, about=place, missing=_kept(check, kept_at, made=made)) for check in found]


def _kept(check: Check, kept_at: dict[str, str], *, made: bool) -> list[str]:
    """Rename missing figures to where they are stored: a made box's volume depends on its drivers' displacement."""
    real = {"box.net_l": "displaces_l"} if made else {}
    return [
        f"{kept_at[name.partition('.')[0]]}.{real.get(name, name.partition('.')[2])}"
        if name != "box.priced"
        else PRICES_OF_MADE
        for name in check.missing
    ]
