"""Each drawing shows what its answer says: coils and wires, margins, cuts, boxes, links."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.vehicles import AmpSpot
from matcher.drawings.board import board_layout
from matcher.drawings.cargo import cargo_space
from matcher.drawings.coils import coil_net, net_of_signs
from matcher.drawings.dash import dash_front
from matcher.drawings.margins import margin_bars
from matcher.drawings.placed import Placed
from matcher.drawings.speaker_front import speaker_front
from matcher.drawings.speaker_section import speaker_section
from matcher.drawings.system import system_diagram
from matcher.drawings.words import DrawingWords
from matcher.formulas.coils import coils_of, net_signs
from matcher.formulas.nets import CoilNet, equal_power_nets
from tests.drawings.gallery import (
    CUT,
    amplifier,
    box,
    check,
    dash,
    door,
    fig,
    figs,
    fit,
    loudspeaker,
    package,
    space,
    unit,
)
from tests.drawings.read import named, size_of, texts

NETS = [net for drivers in (1, 2, 3, 4) for coils in (1, 2) for net in equal_power_nets(drivers, coils) or ()]


@pytest.mark.parametrize("found", NETS, ids=lambda found: net_signs(found.net))
def test_every_coil_has_a_plus_and_a_minus_and_the_amplifier_too(found: CoilNet) -> None:
    drawn = coil_net(found.net, 4)
    coils = coils_of(found.net)
    signs = [text for text, _ in texts(drawn) if text in ("+", "−")]
    assert signs.count("+") == signs.count("−") == len(coils) + 1
    assert len(named(drawn, "terminal")) == 2 * len(coils) + 2
    assert len(named(drawn, "coil")) == len(coils)


@pytest.mark.parametrize("found", NETS, ids=lambda found: net_signs(found.net))
def test_a_net_is_found_again_by_its_signs(found: CoilNet) -> None:
    signs = net_signs(found.net, single=found.coils == 1)
    again = net_of_signs(signs, found.drivers)
    assert again is not None and net_signs(again, single=found.coils == 1) == signs


def test_signs_that_no_net_has() -> None:
    assert net_of_signs("1 + 1", 2) is None


def test_a_net_says_every_wire() -> None:
    (net,) = [found.net for found in NETS if net_signs(found.net) == "1.1 + 2.1" and found.coils == 1]
    assert "Amplifier + to driver 1 +. Driver 1 - to driver 2 +." in coil_net(net, 4).describes


@pytest.mark.parametrize(("have", "sign", "covered"), [(12, "fits", 0), (-5, "no", 2), (10.5, "measure", 0)])
def test_what_a_screen_covers_is_crossed_out(have: float, sign: str, covered: int) -> None:
    around = dash("switch", keep_clear=dash("switch").keep_clear[:1])
    placed: Any = Placed(opening=around, part=unit(), fit=fit(check("dash.screen_clear", have, 10, about="switch")))
    drawn = dash_front(placed)
    assert (len(named(drawn, sign)), len(named(drawn, "covered"))) == (1, covered)


def test_an_opening_of_unknown_size_is_dashed_and_named() -> None:
    drawn = dash_front(Placed(opening=dash(w_mm=None)))
    (edge,) = named(drawn, "opening")
    assert edge.get("stroke-dasharray")
    assert "? measure" in [text.removeprefix("width ") for text, _ in texts(drawn)]


def test_a_cut_is_hatched_between_the_hole_and_the_part() -> None:
    placed: Any = Placed(opening=door(), part=loudspeaker(), fit=fit(cut=CUT))
    (ring,) = named(speaker_front(placed, prefix="p"), "cut")
    assert (ring.get("fill"), ring.get("fill-rule")) == ("url(#p-cut)", "evenodd")
    assert [size_of(edge)[0] for edge in named(speaker_section(placed), "cut")] == [28.25, 28.25]


@pytest.mark.parametrize(
    ("opening", "part", "told"),
    [
        ({}, {}, "behind: 11 free, 10 asked for"),
        ({"behind": "fixed"}, {}, "behind: 11 free, 3 asked for"),
        ({"behind": None}, {}, "behind: 11 free, ? measure asked for"),
        ({"depth_mm": None}, {}, "behind: ? measure, 10 asked for"),
        ({}, {"depth_mm": None}, "behind: ? measure, 10 asked for"),
        ({"depth_mm": fig(81)}, {}, "behind: 0 free, 10 asked for"),
        ({"depth_mm": fig(80)}, {}, "behind: 1 short, 10 asked for"),
    ],
)
def test_the_room_behind_stands_beside_what_is_asked(opening: dict[str, Any], part: dict[str, Any], told: str) -> None:
    placed: Any = Placed(opening=door(**opening), part=loudspeaker(**part), fit=fit())
    assert f"{told[0].upper()}{told[1:]}" in speaker_section(placed).describes


def test_what_is_behind_but_not_measured_is_dashed() -> None:
    (wall,) = named(speaker_section(Placed(opening=door(depth_mm=None))), "behind")
    assert wall.get("stroke-dasharray")


def test_a_box_stands_on_the_false_floor_with_its_back_against_the_slope() -> None:
    (corners,) = [shape.get("points", "") for shape in named(cargo_space(space(), box()), "box")]
    points = [tuple(map(float, pair.split(","))) for pair in corners.split()]
    slope = (430 - 330) / 450
    top_y = 45 + 307.5
    assert points[0][1] == -45 and points[2][1] == -top_y
    assert points[2][0] == pytest.approx(430 - slope * top_y, abs=0.001)  # its upper edge touches the slope
    assert points[1][0] - points[0][0] == pytest.approx(181)


def test_room_around_a_box_is_told_and_unknown_where_a_figure_is() -> None:
    told = [text for text, _ in texts(cargo_space(space(w_mm=None), box()))]
    assert "free, width: ? measure" in told and "free, height: 97.5" in told


@pytest.mark.parametrize(("loss_mm", "room"), [(0, "249"), (45, "? measure"), (None, "? measure")])
def test_room_at_the_floor_needs_no_depth_at_the_top_unless_a_false_floor_is_there(
    loss_mm: int | None, room: str
) -> None:
    """It was drawn as unknown beside a sign that says it fits."""
    opening = space(d_top_mm=None, floor_loss_mm=None if loss_mm is None else fig(loss_mm))
    told = [text for text, _ in texts(cargo_space(opening, box()))]
    assert f"free, depth at the floor: {room}" in told and "free, depth at the top: ? measure" in told


def test_the_title_of_a_drawing_has_the_whole_name_of_its_opening() -> None:
    name = "Opening in the left side panel behind the rear seat, above the wheel arch"
    shown = " ".join(text for text, _ in texts(speaker_front(Placed(opening=door(name)))))
    assert f"Speaker opening from the front: {name}" in shown, "it ended in an ellipsis after two lines"


def test_amplifiers_that_take_more_than_there_is() -> None:
    spot = AmpSpot(opening_id="s", kind="amp_spot", **figs(w_mm=430, h_mm=128, d_mm=310))
    assert named(board_layout(spot, [amplifier()]), "no") == []
    three = board_layout(spot, [amplifier(part_id=str(number)) for number in range(3)])
    assert len(named(three, "no")) == 1
    assert "they take 485.5: more than there is" in " ".join(text for text, _ in texts(three))


@pytest.mark.parametrize(
    ("w_mm", "d_mm", "lies"),
    [
        (430, 310, (128.5, 175.5)),  # along the width, both turned: that leaves the most room
        (426, 178.5, (175.5, 128.5)),  # too shallow to turn: exactly wide and deep enough
        (226, 426, (175.5, 128.5)),  # along the depth
    ],
)
def test_two_amplifiers_share_the_air_between_them(w_mm: float, d_mm: float, lies: tuple[float, float]) -> None:
    spot = AmpSpot(opening_id="s", kind="amp_spot", **figs(w_mm=w_mm, h_mm=128, d_mm=d_mm))
    drawn = board_layout(spot, [amplifier(), amplifier(part_id="2")])
    assert named(drawn, "no") == []
    one, other = (
        [float(shape.get(name, "nan")) for name in ("x", "y", "width", "height")] for shape in named(drawn, "amplifier")
    )
    gap = max(other[0] - one[0] - one[2], other[1] - one[1] - one[3])
    assert gap == pytest.approx(25)
    assert [size_of(shape) for shape in named(drawn, "amplifier")] == [lies, lies]


def test_bars_are_as_long_as_their_margins_and_the_worst_comes_first() -> None:
    tried = [
        check("a.fits", 16, 10),
        check("a.measure", 10, 10),
        check("a.no", 7, 10),
        check("a.lost", None, 10, missing=["part.depth_mm"]),
    ]
    drawn = margin_bars(tried, "part")
    no, measure, fits = (size_of(bar)[0] for bar in named(drawn, "margin"))
    assert (measure, fits / no) == (0, pytest.approx(2))
    assert len(named(drawn, "unknown")) == 1
    rows = [text for text, _ in texts(drawn) if text.startswith("a.")]
    assert [rows[0], rows[-1]] == ["a.no", "a.fits"]


def test_a_margin_far_beyond_runs_off_its_bar() -> None:
    drawn = margin_bars([check("a.tight", 12, 10), check("a.vast", 9000, 10)], "part")
    tight, vast = (size_of(bar)[0] for bar in named(drawn, "margin"))
    assert vast == pytest.approx(5 * tight)
    assert "fits, +8990 ±1 mm" in [text for text, _ in texts(drawn)]


def test_bars_left_out_are_counted() -> None:
    drawn = margin_bars([check(f"a.rule{number}", 20, 10) for number in range(27)], "part")
    assert len(named(drawn, "margin")) == 24
    assert "and 3 more, all of which fit with more to spare" in [text for text, _ in texts(drawn)]


def test_a_system_tells_load_and_power_and_leaves_the_unknown_open() -> None:
    told = [text for text, _ in texts(system_diagram(package()))]
    assert {"4 Ω 37.5 W", "? Ω ? W", "? A", "25 mm²", "? m", "box ? l"} <= set(told)
    assert len(named(system_diagram(package()), "feed")) == 2


def test_two_amplifiers_have_a_fuse_each_and_both_get_a_signal() -> None:
    """One fuse of 20 A was drawn for two amplifiers of 36.4 A."""
    one = package()
    assert one.supply is not None
    again = replace(one.links[1], from_="mono", to=["door"])
    mono = replace(one.lines[3], part_id="mono", slot="bass_amplifier")
    leads = [
        replace(one.supply.leads[0], part_id=name, fuse_a=Decimal(fuse), cable_mm2=Decimal(area), run_m=Decimal("4.5"))
        for name, fuse, area in (("a", 20, 10), ("mono", 25, 16))
    ]
    supply = replace(one.supply, leads=leads)
    drawn = system_diagram(replace(one, lines=[*one.lines, mono], links=[*one.links, again], supply=supply))
    told = [text for text, _ in texts(drawn)]
    assert {"20 A", "25 A", "10 mm²", "16 mm²"} <= set(told) and told.count("4.5 m") == 2
    assert len(named(drawn, "block")) == 3
    assert len(named(drawn, "fuse")) == 2
    assert len(named(drawn, "supply")) == 4  # of each: from the battery, and to its amplifier
    (signal,) = named(drawn, "signal")
    last = max(float(block.get("y", "")) for block in named(drawn, "block"))
    assert signal.get("points", "").endswith(f",{last + 3:g}")


def test_a_drawing_speaks_german() -> None:
    told = [
        text
        for text, _ in texts(speaker_front(Placed(opening=door(hole_w_mm=fig(Decimal("96.5")))), DrawingWords("de")))
    ]
    assert "Loch wie vorgefunden: 96,5 × 143" in told
    assert not [text for text in told if re.search(r"\b(hole|flat|bolts)\b", text)]
