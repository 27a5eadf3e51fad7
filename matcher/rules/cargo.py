"""A bass box in a cargo space: through the tailgate, on the floor, fastened, and not too heavy."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.rules.rule import rule
from matcher.rules.subjects import opening, part
from matcher.rules.terms import Either, Greater, as_term
from matcher.rules.worked import DepthAt, Ranked, Turned

CARGO = "bass box in a cargo space"

EDGES = (part.w_mm, part.h_mm, Greater(part.d_mm, part.d_top_mm))
"""Edges of the box, at its greatest depth."""
GATE = (opening.gate_w_mm, opening.gate_h_mm)
GATE_SHORT, GATE_LONG = Ranked(GATE, 1), Ranked(GATE, 2)

YES, NO = as_term(1), as_term(0)
UNHELD = opening.fasten.is_one_of("no", "none", "nothing").named("nothing is named to hold it by")

GATE_FLAT = rule(
    "cargo.gate_short",
    scope=CARGO,
    unit="mm",
    have=GATE_SHORT,
    need=Ranked(EDGES, 1),
    compares="short side of the gate against the shortest edge of the box",
    flaw="too thick for the gate, whichever way it is turned",
    fix="a flatter box, or two small ones",
)
GATE_THROUGH = rule(
    "cargo.gate_long",
    scope=CARGO,
    unit="mm",
    have=GATE_LONG,
    need=Turned((Ranked(EDGES, 2), Ranked(EDGES, 1), GATE_SHORT)),
    compares="long side of the gate against the smallest face of the box, tilted in the gate if that helps",
    flaw="too large for the gate, whichever way it is turned",
    fix="a slimmer box, or two small ones",
    source=published("Carver 1957; Wetzel, Mathematics Magazine 73(3), 2000, 204-211"),
)
WIDTH = rule(
    "cargo.width",
    scope=CARGO,
    unit="mm",
    have=opening.w_mm,
    need=part.w_mm,
    compares="width of the space against the width of the box as it stands",
    flaw="too wide for the space",
    fix="a narrower box",
)
HEIGHT = rule(
    "cargo.height",
    scope=CARGO,
    unit="mm",
    have=opening.h_mm - opening.floor_loss_mm,
    need=part.h_mm,
    compares="height of the space above its false floor against the height of the box",
    flaw="too high for the space over the floor",
    fix="a flatter box, or a lower false floor",
)
DEPTH_FLOOR = rule(
    "cargo.depth_floor",
    scope=CARGO,
    unit="mm",
    have=Either(
        opening.floor_loss_mm.is_number(0),
        opening.d_mm,
        DepthAt((opening.d_mm, opening.d_top_mm, opening.h_mm, opening.floor_loss_mm)),
    ),
    need=part.d_mm,
    compares="depth of the space at its floor against the depth of the box at its base",
    flaw="too deep for the space at the floor",
    fix="a shallower box",
)
DEPTH_TOP = rule(
    "cargo.depth_top",
    scope=CARGO,
    unit="mm",
    have=DepthAt((opening.d_mm, opening.d_top_mm, opening.h_mm, opening.floor_loss_mm + part.h_mm)),
    need=part.d_top_mm,
    compares="depth of the space at the height of the box's top against the depth of that top",
    flaw="its top meets the sloped back of the space",
    fix="a box with a sloped back, or a lower one",
)
MASS = rule(
    "cargo.mass",
    scope=CARGO,
    unit="kg",
    have=opening.mass_max_kg,
    need=part.mass_kg,
    compares="load limit of the floor against the mass of the box alone",
    flaw="too heavy for the floor",
    fix="a lighter box",
)
FASTEN = rule(
    "cargo.fasten",
    scope=CARGO,
    unit="",
    have=Either(UNHELD, NO, YES),
    need=1,
    compares="whether a box can be held there without new holes",
    flaw="nothing is there to hold it by without new holes",
    fix="load eyes, clamps or existing bolts; never seat-belt anchors",
    lifted_at="drilled",
)
