"""One of every drawing, with whatever words are to stand in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from math import inf
from typing import Any

from catalog_schema.answers import Bass, Filter, Lead, Line, Link, Package, Price, Supply
from catalog_schema.checks import Check, CutNeeded, Fit, verdict_of
from catalog_schema.figures import Figure
from catalog_schema.parts import Accessory, Adapter, Amplifier, Enclosure, HeadUnit, Speaker
from catalog_schema.vehicles import (
    OPENINGS,
    AmpSpot,
    CargoSpace,
    ControlSpot,
    DashOpening,
    KeepClear,
    NoFasten,
    Opening,
    SpeakerOpening,
)
from matcher.drawings.bass_curve import bass_curve, frequencies
from matcher.drawings.board import board_layout
from matcher.drawings.cargo import cargo_space
from matcher.drawings.coils import coil_net
from matcher.drawings.dash import dash_front
from matcher.drawings.dash_picture import dash_picture
from matcher.drawings.dash_section import dash_section
from matcher.drawings.going_back import Original, going_back
from matcher.drawings.larger import Larger, cut_outline, larger_chart
from matcher.drawings.margins import margin_bars
from matcher.drawings.measuring import measured_fields, measuring_sketch
from matcher.drawings.openings import FilledOpening, Size, opening_in_row
from matcher.drawings.placed import Placed
from matcher.drawings.response import Response, response_plot
from matcher.drawings.response import frequencies as response_frequencies
from matcher.drawings.speaker_front import speaker_front
from matcher.drawings.speaker_section import speaker_section
from matcher.drawings.svg import Drawing
from matcher.drawings.system import system_diagram
from matcher.drawings.template import cut_template, dash_template, drill_template
from matcher.drawings.words import DrawingWords
from matcher.formulas.box import closed_box
from matcher.formulas.nets import equal_power_nets
from matcher.formulas.output import closed_max_level

HOSTILE = (
    "Tür & <script>alert(1)</script>",
    "\"quoted\" 'both' ]]> --> &amp; %s {name}",
    "Donaudampfschifffahrtsgesellschaftskapitänsmützenhalterung" * 3,
    "לוח מחוונים שמאל 12",
    "前門スピーカー左右",
    "a\u202eb\x07c\ud800 \u0301\u0301",
)
"""Names as catalogs have them at their worst: markup, quotes, one long word, right to left, wide, unprintable."""


def fig(value: float | str) -> Figure:
    return Figure(Decimal(str(value)))


def figs(**values: float | None) -> dict[str, Any]:
    return {name: None if value is None else fig(value) for name, value in values.items()}


def dash(name: str = "Dash", **changes: Any) -> DashOpening:
    around = (
        KeepClear(name=name, **figs(x_mm=-92, y_mm=-112, w_mm=184, h_mm=48), reach="fingers"),
        KeepClear(name=f"{name} 2", **figs(x_mm=132, y_mm=-14, w_mm=24, h_mm=28), reach="15"),
        KeepClear(name=f"{name} 3"),
    )
    sizes: dict[str, Any] = figs(w_mm=184, h_mm=76, depth_mm=178, proud_max_mm=62)
    whole = {"opening_id": "dash", "kind": "dash", "label": name, "shape": "rect", "keep_clear": around}
    return DashOpening(**(whole | sizes | changes))


def door(name: str = "Door", **changes: Any) -> SpeakerOpening:
    sizes: dict[str, Any] = figs(
        hole_w_mm=96, hole_h_mm=143, bolt_w_mm=80, bolt_h_mm=117, depth_mm=92, front_mm=26, flat_w_mm=176,
        flat_h_mm=246, beside_mm=88,
    )  # fmt: skip
    whole = {"opening_id": "door", "kind": "speaker", "label": name, "shape": "oval", "behind": "moving_glass"}
    return SpeakerOpening(**(whole | sizes | changes))


def space(name: str = "Cargo", **changes: Any) -> CargoSpace:
    sizes: dict[str, Any] = figs(
        w_mm=960, h_mm=450, d_mm=430, d_top_mm=330, gate_w_mm=1010, gate_h_mm=620, floor_loss_mm=45
    )
    return CargoSpace(**({"opening_id": "cargo", "kind": "cargo", "label": name, "fasten": name} | sizes | changes))


def unit(name: str = "Unit", **changes: Any) -> HeadUnit:
    sizes = figs(
        body_w_mm=178, body_h_mm=50, body_d_mm=100, face_w_mm=190, face_h_mm=60, face_d_mm=15, screen_w_mm=230,
        screen_h_mm=132, screen_d_mm=10, screen_rise_min_mm=-9.5, screen_rise_max_mm=25.5,
    )  # fmt: skip
    whole = common("unit", name) | {"screen": "floating"}
    return HeadUnit(**(whole | sizes | changes))


def common(part_id: str, name: str) -> dict[str, Any]:
    return {"part_id": part_id, "maker": "Ulvo", "model": name, "price": Decimal(100)}


def loudspeaker(name: str = "Speaker", **changes: Any) -> Speaker:
    sizes = figs(
        cutout_w_mm=152.5, cutout_h_mm=222, flange_w_mm=167.5, flange_h_mm=237, depth_mm=81, bolt_w_mm=120,
        bolt_h_mm=193, magnet_mm=113.5, front_mm=10.5, xmax_mm=5, impedance_ohm=4, rms_w=60,
    )  # fmt: skip
    return Speaker(**(common("speaker", name) | {"shape": "oval", "size": "6x9"} | sizes | changes))


def plate(name: str = "Plate", **changes: Any) -> Adapter:
    sizes = figs(
        fits_w_mm=96, fits_h_mm=143, fits_bolt_w_mm=80, fits_bolt_h_mm=117, gives_w_mm=81, forward_mm=6, thick_mm=6
    )
    own = {"for_": "speaker", "fits_shape": "oval", "gives_shape": "round"}
    return Adapter(**(common("plate", name) | own | sizes | changes))


def amplifier(name: str = "Amplifier", **changes: Any) -> Amplifier:
    whole = common("amplifier", name) | {"full_channels": 4} | figs(w_mm=175.5, h_mm=51.5, d_mm=128.5)
    return Amplifier(**(whole | changes))


def box(name: str = "Box", **changes: Any) -> Enclosure:
    whole = common("box", name) | {"drivers": 1, "driver_size_in": fig(8)} | figs(w_mm=682, h_mm=307.5, d_mm=181)
    return Enclosure(**(whole | changes))


def check(rule: str, have: float | None, need: float | None, tol: float = 1, **changes: Any) -> Check:
    """A check as a rule would make it of two numbers."""
    margin = None if have is None or need is None else Decimal(str(have)) - Decimal(str(need))
    exact = [None if number is None else Decimal(str(number)) for number in (have, need)]
    limit = Decimal(str(tol))
    made = Check(
        rule=rule, verdict=verdict_of(margin, limit), have=exact[0], need=exact[1], margin=margin, tol=limit, unit="mm"
    )
    return replace(made, **changes)


def fit(*checks: Check, **changes: Any) -> Fit:
    whole = {
        "part_id": "p", "opening": "tern/o", "verdict": "fits", "alteration": "metal_cut", "adapter_id": None,
        "cut": None, "checks": list(checks), "asked": "metal_cut",
    }  # fmt: skip
    return Fit(**(whole | changes))


CUT = CutNeeded(w_mm=Decimal("152.5"), h_mm=Decimal(222), material="steel")


def package(name: str = "Part") -> Package:
    def line(slot: str, opening_id: str | None, part_id: str) -> Line:
        return Line(slot=slot, opening_id=opening_id, part_id=part_id, qty=1, label=name)

    return Package(
        rank=1,
        score=1,
        verdict="fits",
        alteration="bolt_on",
        reversible=True,
        price=Price(parts=Decimal(1), labour=Decimal(1), total=Decimal(2)),
        criteria={},
        lines=[
            line("head_unit", "dash", "h"),
            line("speaker", "door", "s"),
            line("bass", "cargo", "b"),
            line("amplifier", "seat", "a"),
        ],
        links=[
            Link(from_="h", to=["door"], channels=f"2 channels; {name}", load_ohm=Decimal(4), power_w=Decimal("37.5")),
            Link(from_="a", to=["cargo"], channels="2 channels, bridged", load_ohm=None, power_w=None),
        ],
        bass=Bass(
            drivers=2, net="(1.1 + 1.2) | (2.1 + 2.2)", load_ohm=Decimal(4), box_net_l=None, qtc=None, fc_hz=None,
            f3_hz=None, mean_db=None, spread_db=None,
        ),
        supply=Supply(
            full_a=None, music_a=None, spare_a=None, cable_mm2=Decimal(25), fuse_a=None, standby_ma=None,
            fuse_within_mm=Decimal(450),
            leads=[
                Lead(
                    part_id="a", full_a=None, fuse_a=None, fuse_color=None, cable_id="c", cable_mm2=Decimal(25),
                    run_m=None,
                )
            ],
        ),
        checks=[],
        tradeoffs=[],
        measure=[],
        undo=[],
        filters=[
            Filter(from_="h", slot="head_unit", to=["door"], high_pass_hz=Decimal(110), low_pass_hz=None),
            Filter(from_="a", slot="amplifier", to=["cargo"], high_pass_hz=None, low_pass_hz=Decimal(110)),
        ],
    )  # fmt: skip


def drawings(name: str, words: DrawingWords) -> Iterator[tuple[str, Drawing]]:
    """Every kind of drawing by a name of its own; each has its own ids."""
    yield from _openings(name, words)
    yield from _row(name, words)
    yield from _templates(name, words)
    yield from _answers(name, words)
    yield from _sketches(name, words)


def _openings(name: str, words: DrawingWords) -> Iterator[tuple[str, Drawing]]:
    covered = fit(
        check("dash.screen_clear", -5, 10, about=name),
        cut=CutNeeded(w_mm=Decimal(190), h_mm=Decimal(80), material=None),
    )
    screened: Any = Placed(opening=dash(name), part=unit(name), fit=covered, rise_mm=Decimal("12.5"))
    unknown_dash: Any = Placed(opening=DashOpening(opening_id=name, kind="dash"), part=HeadUnit(**common("u", name)))
    shafts: Any = Placed(
        opening=dash(name, shape="twin_shaft", shaft_mm=fig(130)),
        part=unit(name, mount="twin_shaft", screen="none", shaft_min_mm=fig(120), shaft_max_mm=fig(140)),
        adapter=plate(name, for_="dash", fits_shape="rect", gives_shape="rect", gives_h_mm=fig(53)),
    )
    for key, placed in (("screen", screened), ("unknown", unknown_dash), ("shafts", shafts)):
        yield f"dash-{key}", dash_front(placed, words, f"dash-{key}")
        yield f"dash-section-{key}", dash_section(placed, words, f"dash-section-{key}")
    today: Any = replace(screened, part=None, fit=None)
    for key, placed, beside in (("today", today, screened), ("after", screened, today), ("radio", shafts, today)):
        yield from _known(f"picture-{key}", dash_picture(placed, [beside], words, f"picture-{key}"))
    cut: Any = Placed(opening=door(name), part=loudspeaker(name), fit=fit(check("speaker.depth", 92, 91), cut=CUT))
    plated: Any = Placed(opening=door(name), part=loudspeaker(name, depth_mm=None), adapter=plate(name))
    bare: Any = Placed(opening=SpeakerOpening(opening_id=name, kind="speaker"))
    for key, one in (("cut", cut), ("plate", plated), ("unknown", bare)):
        yield f"front-{key}", speaker_front(one, words, f"front-{key}")
        yield f"section-{key}", speaker_section(one, words, f"section-{key}")
    yield "cargo", cargo_space(space(name), box(name), words=words, prefix="cargo")
    unknown = CargoSpace(opening_id=name, kind="cargo")
    yield "cargo-unknown", cargo_space(unknown, box(name, h_mm=None), words=words, prefix="cargo-unknown")
    seat = AmpSpot(opening_id="s", kind="amp_spot", label=name, fasten=name, **figs(w_mm=430, h_mm=128, d_mm=310))
    both = [amplifier(name), amplifier(name, part_id="2"), amplifier(name, part_id="3", w_mm=None)]
    zones = [NoFasten(where=name, why=name)]
    under = Accessory(**common("board", name), kind="board", **figs(w_mm=380, h_mm=250, d_mm=18))
    yield "board", board_layout(seat, both, no_fasten=zones, board=under, words=words, prefix="board")
    yield "control", board_layout(ControlSpot(opening_id=name, kind="control_spot"), words=words, prefix="control")


def _row(name: str, words: DrawingWords) -> Iterator[tuple[str, Drawing]]:
    shown = {
        "dash": FilledOpening(dash(name), (Size(178, 50),)),
        "pair": FilledOpening(door(name), (Size(90, 90),), is_open=True),
        "space": FilledOpening(space(name), (Size(400, 300), Size(200, 60))),
        "unknown": FilledOpening(door(name, hole_w_mm=None, hole_h_mm=None)),
    }
    for key, one in shown.items():
        yield f"row-{key}", opening_in_row(one, words, f"row-{key}")


def _templates(name: str, words: DrawingWords) -> Iterator[tuple[str, Drawing]]:
    cut = cut_template(door(name), loudspeaker(name), fit(cut=CUT), words, "cut-template")
    drill = drill_template(door(name), plate(name), loudspeaker(name), words=words, prefix="drill-template")
    assert cut is not None and drill is not None
    yield "cut-template", cut
    higher = fit(cut=CutNeeded(w_mm=Decimal(184), h_mm=Decimal(102), material="trim"))
    yield from _known("dash-template", dash_template(dash(name), unit(name), higher, words, "dash-template"))
    yield "drill-template", drill


def _answers(name: str, words: DrawingWords) -> Iterator[tuple[str, Drawing]]:
    for number, found in enumerate((*(equal_power_nets(2, 2) or ()), *(equal_power_nets(4, 1) or ()))):
        yield f"net-{number}", coil_net(found.net, 4, block=name, words=words, prefix=f"net-{number}")
    yield "system", system_diagram(package(name), {"door": name}, words=words, prefix="system")
    tried = [
        check("speaker.depth", 10, 12.5, about=name),
        check("speaker.front", 10, 10, about=name),
        check("speaker.beside", None, 10, missing=[f"opening:tern/{name}.beside_mm", "part.magnet_mm"]),
        check("dash.depth", 150, 90),
    ]
    yield "margins", margin_bars(tried, name, words=words, prefix="margins")
    closed = closed_box(28, 0.35, 90, 30)
    levels = [most for hz in frequencies() if (most := closed_max_level(hz, closed, 87, 500, 500, 10)) is not None]
    yield "curve", bass_curve(levels, name, f3_hz=40.2, tuned_hz=33, words=words, prefix="curve")
    responses = [
        Response("A", tuple(100.0 if hz > 133 else -inf for hz in response_frequencies())),
        Response("B", tuple(90 + hz / 500 for hz in response_frequencies())),
        Response("C", tuple(-inf for _ in response_frequencies())),
    ]
    yield from _known("response", response_plot(responses, [105.0 for _ in response_frequencies()], words, "response"))
    originals = [Original("radio", name), *(Original("round", name), Original("oval", name)) * 2]
    yield from _known("back", going_back(originals, words, "back"))
    marks = [Larger(name, area, gain, area > 50) for area, gain in ((13, 2.5), (14, 2.4), (0, -1), (78, 3))]
    yield from _known("larger", larger_chart(marks, words, "larger"))
    yield "larger-cut", cut_outline(door(name), 130, 180, words, "larger-cut")
    yield "curve-unknown", bass_curve([], name, missing=["fs_hz", "qts"], words=words, prefix="curve-unknown")


def _known(key: str, drawing: Drawing | None) -> Iterator[tuple[str, Drawing]]:
    assert drawing is not None
    yield key, drawing


def _sketches(name: str, words: DrawingWords) -> Iterator[tuple[str, Drawing]]:
    known: dict[str, Opening] = {"dash": dash(name), "speaker": door(name), "cargo": space(name)}
    for kind, model in OPENINGS.items():
        bare = model(opening_id=name, kind=kind)
        for field in measured_fields(kind):
            key = f"measure-{kind}-{field.replace('.', '-')}"
            yield key, measuring_sketch(bare, field, words, key)
            if kind in known:
                of = field.replace("keep_clear.", f"keep_clear.{name}.")
                yield f"{key}-known", measuring_sketch(known[kind], of, words, f"{key}-known")
