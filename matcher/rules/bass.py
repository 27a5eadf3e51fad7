"""Bass drivers in their box: size, hole, depth, the resulting Q, and the total weight."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.rules.rule import rule
from matcher.rules.subjects import box, opening, part, setting
from matcher.rules.terms import Apart, Either, Surely, as_term
from matcher.rules.worked import ClosedQ, Times, VentedPeak

BASS = "bass drivers in a box"

SEALED, VENTED = box.kind.is_("sealed"), box.kind.is_("vented")
FRONT_GIVEN = (~Surely(box.made.is_true())).named("the box comes with its holes")
FRONT_MADE = Surely(box.made.is_true()).named("the box is made to measure")
FRAME_UNKNOWN = (FRONT_MADE & ~part.outer_mm.is_known()).named("the box is made, and the flange is not known")
QTC = ClosedQ((part.qts, part.vas_l, box.net_l, box.drivers))
PEAK_AT_LEAST = VentedPeak(
    (part.fs_hz, part.qts, part.vas_l, box.net_l, box.drivers, box.tuned_hz, setting("box_ql_least"))
)

SIZE = rule(
    "bass.size",
    scope=BASS,
    unit="in",
    have=0,
    need=Apart(part.size_in, box.driver_size_in),
    compares="difference between the driver's size and the size the box is made for",
    flaw="the box is made for drivers of another size",
    fix="a box for drivers of this size",
    when=FRONT_GIVEN,
)
CUTOUT = rule(
    "bass.cutout",
    scope=BASS,
    unit="mm",
    have=box.cutout_mm,
    need=part.cutout_mm,
    compares="diameter of the box's hole against the driver's cut-out",
    flaw="the driver does not go into the hole",
    fix="a larger hole in the box, which is the shop's own",
    when=FRONT_GIVEN,
)
FLANGE = rule(
    "bass.flange",
    scope=BASS,
    unit="mm",
    have=part.outer_mm,
    need=box.cutout_mm + setting("flange_overlap_mm") + setting("flange_overlap_mm"),
    compares="diameter of the driver's flange against the box's hole plus the overlap on both sides",
    flaw="the hole is too large for the driver's flange",
    fix="a ring between them, or a box with a smaller hole",
    when=FRONT_GIVEN,
)
FRONT_WIDTH = rule(
    "bass.front_width",
    scope=BASS,
    unit="mm",
    have=box.front_w_mm,
    need=Times((part.outer_mm, box.drivers)),
    compares="width of the front between its end boards against the drivers' flanges side by side",
    flaw="the drivers do not sit side by side on the front",
    fix="smaller drivers, or fewer",
    when=FRONT_MADE,
)
FRONT_HEIGHT = rule(
    "bass.front_height",
    scope=BASS,
    unit="mm",
    have=box.front_h_mm,
    need=part.outer_mm,
    compares="height of the front between top and bottom board against the driver's flange",
    flaw="the driver is larger than the front",
    fix="a smaller driver",
    when=FRONT_MADE,
)
CUTOUT_WIDTH = rule(
    "bass.cutout_width",
    scope=BASS,
    unit="mm",
    have=box.front_w_mm,
    need=Times((part.cutout_mm, box.drivers)),
    compares="width of the front between its end boards against the drivers' holes side by side: a flange is larger",
    flaw="the drivers' holes do not go side by side into the front",
    fix="smaller drivers, or fewer",
    when=FRAME_UNKNOWN,
)
CUTOUT_HEIGHT = rule(
    "bass.cutout_height",
    scope=BASS,
    unit="mm",
    have=box.front_h_mm,
    need=part.cutout_mm,
    compares="height of the front between top and bottom board against the driver's hole: its flange is larger",
    flaw="the driver's hole is larger than the front",
    fix="a smaller driver",
    when=FRAME_UNKNOWN,
)
MADE_PRICED = rule(
    "bass.made_priced",
    scope=BASS,
    unit="",
    have=box.priced,
    need=1,
    compares="whether the shop has given the prices of a box that it makes: board, carpet and terminals, hours",
    flaw="the shop has not given what a box made to measure costs",
    fix="board_price_m2, made_box_extras_price, made_box_labour_h and labour_rate in the shop's settings",
    when=FRONT_MADE,
)
DEPTH = rule(
    "bass.depth",
    scope=BASS,
    unit="mm",
    have=box.driver_depth_mm,
    need=part.depth_mm + Either(part.vented_pole.is_true(), setting("clearance_pole_mm"), as_term(0)),
    compares="depth behind the box's hole against the driver's depth plus air behind a vented pole",
    flaw="the driver is too deep for the box",
    fix="a shallower driver, or a deeper box",
)
QTC_MOST = rule(
    "bass.qtc_most",
    scope=BASS,
    unit="Qtc",
    have=setting("qtc_most"),
    need=QTC,
    compares="highest accepted Q against the Q of the drivers in the closed box",
    flaw="the box is too small for these drivers: they boom",
    fix="a larger box, or drivers with a lower Q or a smaller Vas",
    when=SEALED,
    source=published("Small, JAES 20, December 1972, for the Q; the limit is common practice"),
)
TUNED = rule(
    "bass.tuned",
    scope=BASS,
    unit="Hz",
    have=box.tuned_hz,
    need=0,
    compares="tuning frequency of the port, which has to be known",
    flaw="the tuning of the port is not stated",
    fix="the tuning from the maker, or measured by the impedance dip",
    when=VENTED,
)
PEAK = rule(
    "bass.peak",
    scope=BASS,
    unit="dB",
    have=setting("vented_peak_db"),
    need=PEAK_AT_LEAST,
    compares="highest accepted peak against the peak of the box with the largest losses that boxes have",
    flaw="the box is too large for these drivers, or tuned too high: it booms",
    fix="a smaller box, a lower tuning, or drivers with a lower Q",
    when=VENTED,
    source=published("Small, JAES 21, 1973, for the response and the losses; the limit is common practice"),
)
MASS = rule(
    "bass.mass",
    scope=BASS,
    unit="kg",
    have=opening.mass_max_kg,
    need=box.mass_kg + Times((part.mass_kg, box.drivers)),
    compares="load limit of the floor against the mass of the box with its drivers",
    flaw="too heavy for the floor with the drivers in it",
    fix="a lighter box or lighter drivers, or fewer of them",
)
