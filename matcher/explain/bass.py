"""The bass side of a package: what drivers, net and box make, and every rule asked again of them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Bass, BoxPanel, BoxSize, Check
from matcher.explain.line_level import line_checks
from matcher.formulas.made_box import cut_list
from matcher.formulas.vented import vented_f3_hz
from matcher.rules.bass import BASS
from matcher.rules.cargo import CARGO
from matcher.rules.holding import HOLDING
from matcher.rules.rule import rules_of
from matcher.search.bass.made import as_part
from matcher.search.bass.systems import BassFigures, BassSystem, MadeShape
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import amplifier_signature
from matcher.search.fits.fit import stands_at
from matcher.search.packages import Fitted
from matcher.search.question import JobQuestion


def bass_of(catalog: Catalog, fitted: list[Fitted]) -> Bass | None:
    """The bass side as the answer shows it; none where a package has no bass."""
    one = next((one for one in fitted if one.bass is not None and one.link is not None), None)
    if one is None or one.bass is None or one.link is None or one.coils is None:
        return None
    system = one.bass
    closed, level = system.figures.closed, system.level_cdb(one.link)
    shape = system.shape
    return Bass(
        drivers=system.drivers,
        net=one.coils.net,
        load_ohm=one.link.load_ohm,
        box_net_l=system.figures.net_l,
        qtc=None if closed is None else round(closed.qtc, 3),
        fc_hz=None if closed is None else round(closed.fc_hz, 1),
        f3_hz=_f3_hz(system.figures),
        max_db_40hz=None if level is None else level / 100,
        ruled_by=system.ruled_by(one.link),
        outer=None if shape is None else _size(shape),
        panels=[] if shape is None else _panels(shape, float(catalog.settings["board_mm"])),
    )


def _f3_hz(figures: BassFigures) -> float | None:
    if figures.kind == "sealed":
        return None if figures.closed is None else round(figures.closed.f3_hz, 1)
    if figures.kind != "vented":
        return None
    one = figures.vented
    f3 = vented_f3_hz(one.fs_hz, one.qts, one.vas_l, one.net_l, one.tuned_hz)
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


def bass_checks(catalog: Catalog, question: JobQuestion, fitted: list[Fitted]) -> list[Check]:
    """Every rule of the drivers in their box, of a box that is made, and of an amplifier for bass alone."""
    systems = [one.bass for one in fitted if one.bass is not None and one.link is not None]
    own = [one.candidate for one in fitted if one.candidate.slot == "bass_amplifier"]
    head = next(one.candidate for one in fitted if one.candidate.slot == "head_unit")
    unit = f"part:{head.part_id}" if head.part_id else "the original head unit"
    return [
        *(check for system in systems for check in _system_checks(question, system, catalog)),
        *(
            check
            for one in own
            for check in line_checks(
                catalog, head, amplifier_signature(one), "bass amplifier", (unit, f"part:{one.part_id}")
            )
        ),
    ]


def _system_checks(question: JobQuestion, system: BassSystem, catalog: Catalog) -> list[Check]:
    columns = system.columns
    (found,) = catalog.explain(rules_of(BASS), columns)
    if system.shape is not None:
        (standing,) = catalog.explain([*rules_of(CARGO), *rules_of(HOLDING)], columns | as_part(columns))
        found = [*found, *(check for check in standing if stands_at(check, system.box.step))]
    place, driver = str(system.box.opening_id), f"part:{system.driver.part_id}"
    kept_at = {
        "part": driver,
        "box": driver if system.shape is not None else f"part:{system.box.part_id}",
        "opening": f"opening:{question.job.vehicle_id}/{place}",
    }
    made = system.shape is not None
    return [replace(check, about=place, missing=_kept(check, kept_at, made=made)) for check in found]


def _kept(check: Check, kept_at: dict[str, str], *, made: bool) -> list[str]:
    """Missing figures by where they are kept: the volume of a box that is made waits for what its drivers displace."""
    real = {"box.net_l": "displaces_l"} if made else {}
    return [f"{kept_at[name.partition('.')[0]]}.{real.get(name, name.partition('.')[2])}" for name in check.missing]
