"""Loudspeakers at a speaker opening: whether they fit, and whether they cover the frequency band of the place."""

from __future__ import annotations

from decimal import Decimal

from matcher.rules.laid import CUTOUT_ACROSS, CUTOUT_DOWN, across, down
from matcher.rules.layouts import Corner, Unmatched
from matcher.rules.patterns import (
    BOLTED,
    BY_CIRCLE,
    EVENLY_SPACED,
    MOUTH_BY_CIRCLE,
    MOUTH_ON_CIRCLE,
    PART_BY_CIRCLE,
    PART_CIRCLE,
    PART_COUNT,
    PART_ON_CIRCLE,
    SQUARE_OF_CIRCLE,
)
from matcher.rules.rule import Rule, rule
from matcher.rules.subjects import mouth, opening, part, setting
from matcher.rules.terms import Apart, Condition, Either, FigureTerm, Greater, Same, Surely, as_term

SPEAKER = "speaker at a mouth"

BOTH_ROUND = part.shape.is_("round") & mouth.shape.is_("round")


def _one_diameter(what: str) -> Condition:
    """Both are round and state no separate height, so one diameter describes each."""
    of_part = Same(getattr(part, f"{what}_h_mm"), getattr(part, f"{what}_w_mm"))
    return BOTH_ROUND & (of_part & Same(mouth.h_mm, mouth.w_mm)).named("no height differs")


CORNERED = part.shape.is_("rect") & ~mouth.shape.is_("rect")
IS_CUT = Surely(mouth.is_cut.is_true()).named("the opening is cut")
NEW_HOLES = "an adapter with the right holes, or new screw holes where the owner allows them"

HOLE_WIDTH = rule(
    "speaker.hole_width",
    scope=SPEAKER,
    unit="mm",
    have=mouth.w_mm,
    need=CUTOUT_ACROSS,
    compares="width of the hole against the width of the loudspeaker's cut-out",
    flaw="too wide for the hole",
    fix="a smaller size, or a larger hole",
)
HOLE_HEIGHT = rule(
    "speaker.hole_height",
    scope=SPEAKER,
    unit="mm",
    have=mouth.h_mm,
    need=CUTOUT_DOWN,
    compares="height of the hole against the height of the loudspeaker's cut-out",
    flaw="too high for the hole",
    fix="a smaller size, or a larger hole",
    when=~_one_diameter("cutout"),
)
HOLE_CORNER = rule(
    "speaker.hole_corner",
    scope=SPEAKER,
    unit="mm",
    have=mouth.w_mm,
    need=Either(
        mouth.shape.is_("round"),
        Corner(across("cutout"), down("cutout"), mouth.w_mm, mouth.w_mm),
        Corner(across("cutout"), down("cutout"), mouth.w_mm, mouth.h_mm),
    ),
    compares="width of a round or oval hole against the width needed around a rectangle's corners",
    flaw="its corners do not lie inside the round hole",
    fix="a round or oval loudspeaker, or an adapter plate",
    when=CORNERED,
)
DEPTH = rule(
    "speaker.depth",
    scope=SPEAKER,
    unit="mm",
    have=opening.depth_mm + mouth.forward_mm,
    need=part.depth_mm + setting("clearance_behind_mm", opening.behind),
    compares="depth behind the panel plus what the adapter adds against the loudspeaker's depth plus clearance",
    flaw="too deep for the space behind the panel",
    fix="a spacer moves it out by as much, and takes that from the front",
)
FRONT = rule(
    "speaker.front",
    scope=SPEAKER,
    unit="mm",
    have=opening.front_mm,
    need=part.front_mm + part.xmax_mm + mouth.forward_mm + setting("clearance_front_mm"),
    compares="space up to the grille against the loudspeaker's front plus cone travel and clearance",
    flaw="its front or its cone would touch the grille",
    fix="a flatter loudspeaker, or a thinner adapter",
)
FLANGE_WIDTH = rule(
    "speaker.flange_width",
    scope=SPEAKER,
    unit="mm",
    have=across("flange"),
    need=Either(IS_CUT, Greater(mouth.found_w_mm, across("cutout")), mouth.w_mm)
    + setting("flange_overlap_mm")
    + setting("flange_overlap_mm"),
    compares="width of the flange against the hole plus the overlap on both sides",
    flaw="the flange does not cover the hole's width",
    fix="an adapter plate closes the hole",
)
FLANGE_HEIGHT = rule(
    "speaker.flange_height",
    scope=SPEAKER,
    unit="mm",
    have=down("flange"),
    need=Either(IS_CUT, Greater(mouth.found_h_mm, down("cutout")), mouth.h_mm)
    + setting("flange_overlap_mm")
    + setting("flange_overlap_mm"),
    compares="height of the flange against the hole plus the overlap above and below",
    flaw="the flange does not cover the hole's height",
    fix="an adapter plate closes the hole",
    when=~_one_diameter("flange"),
)
FLAT_WIDTH = rule(
    "speaker.flat_width",
    scope=SPEAKER,
    unit="mm",
    have=opening.flat_w_mm,
    need=across("flange"),
    compares="width of the flat face against the width of the flange",
    flaw="the flange is wider than the flat face around the hole",
    fix="an adapter plate that fits the flat face",
)
FLAT_HEIGHT = rule(
    "speaker.flat_height",
    scope=SPEAKER,
    unit="mm",
    have=opening.flat_h_mm,
    need=down("flange"),
    compares="height of the flat face against the height of the flange",
    flaw="the flange is higher than the flat face around the hole",
    fix="an adapter plate that fits the flat face",
)
BESIDE = rule(
    "speaker.beside",
    scope=SPEAKER,
    unit="mm",
    have=opening.beside_mm,
    need=part.magnet_mm * Decimal("0.5") + setting("clearance_beside_mm"),
    compares="distance from the center to the nearest obstacle against half the magnet plus clearance",
    flaw="the magnet would touch what is beside it",
    fix="a smaller magnet",
)
ONE_PLACE = rule(
    "speaker.both_channels",
    scope=SPEAKER,
    unit="coils",
    have=part.coils,
    need=setting("shared_coils"),
    compares="voice coils of a loudspeaker at a place that serves both channels",
    flaw="one coil cannot take both channels, and the channels are never tied together",
    fix="a loudspeaker with two voice coils, or a summed signal",
    when=opening.count.is_number(1),
)

BOLT_CIRCLE = rule(
    "speaker.bolt_circle",
    scope=SPEAKER,
    unit="mm",
    have=setting("bolt_slack_mm"),
    need=Apart(PART_CIRCLE, mouth.bolt_circle_mm),
    compares="slack of slotted tabs and clip nuts against the difference between the bolt circles",
    flaw="its bolt holes do not line up with the existing ones",
    fix=NEW_HOLES,
    when=BOLTED & BY_CIRCLE,
    lifted_at="drilled",
)
BOLT_COUNT = rule(
    "speaker.bolt_count",
    scope=SPEAKER,
    unit="bolts",
    have=0,
    need=Unmatched(
        Either(PART_BY_CIRCLE, PART_COUNT, as_term(4)),
        Either(MOUTH_BY_CIRCLE, mouth.bolt_count, as_term(4)),
    ),
    compares="bolt holes without a partner: evenly spaced holes match if one number divides the other, such as four "
    "of eight",
    flaw="its number of bolt holes does not match the existing ones",
    fix=NEW_HOLES,
    when=BOLTED & (PART_BY_CIRCLE | MOUTH_BY_CIRCLE),
    lifted_at="drilled",
    source=EVENLY_SPACED,
)
BOLTS_ACROSS = rule(
    "speaker.bolts_across",
    scope=SPEAKER,
    unit="mm",
    have=setting("bolt_slack_mm"),
    need=Apart(
        Either(PART_ON_CIRCLE, PART_CIRCLE * SQUARE_OF_CIRCLE, across("bolt")),
        Either(MOUTH_ON_CIRCLE, mouth.bolt_circle_mm * SQUARE_OF_CIRCLE, mouth.bolt_w_mm),
    ),
    compares="slack of slotted tabs and clip nuts against the horizontal offset of the bolt holes",
    flaw="its bolt holes do not line up with the existing ones",
    fix=NEW_HOLES,
    when=BOLTED & ~BY_CIRCLE,
    lifted_at="drilled",
)
BOLTS_DOWN = rule(
    "speaker.bolts_down",
    scope=SPEAKER,
    unit="mm",
    have=setting("bolt_slack_mm"),
    need=Apart(
        Either(PART_ON_CIRCLE, PART_CIRCLE * SQUARE_OF_CIRCLE, down("bolt")),
        Either(MOUTH_ON_CIRCLE, mouth.bolt_circle_mm * SQUARE_OF_CIRCLE, mouth.bolt_h_mm),
    ),
    compares="slack of slotted tabs and clip nuts against the vertical offset of the bolt holes",
    flaw="its bolt holes do not line up with the existing ones",
    fix=NEW_HOLES,
    when=BOLTED & ~BY_CIRCLE,
    lifted_at="drilled",
)

# The part's frequency band against that of the place, and the extra parts of a component set.

FOR_TWEETER = Surely(opening.role.is_("tweeter")).named("the place is for a tweeter")
FOR_WOOFER = Surely(opening.role.is_("woofer")).named("the place is for a woofer")
IS_TWEETER = part.kind.is_("tweeter")
HALF_A_SOUND = IS_TWEETER | part.kind.is_("midbass")
MISCAST = Surely(
    (FOR_TWEETER & ~IS_TWEETER) | (FOR_WOOFER & IS_TWEETER) | (~FOR_TWEETER & ~FOR_WOOFER & HALF_A_SOUND)
).named("its kind plays another band")
IS_SET = Surely(part.kind.is_("component")).named("it is a component set")

KIND = rule(
    "speaker.kind",
    scope=SPEAKER,
    unit="",
    have=Either(MISCAST, as_term(0), as_term(1)),
    need=1,
    compares="kind of the loudspeaker against the band that the place plays",
    flaw="it plays another band than the place: a tweeter has no bass, a midbass no treble",
    fix="a coaxial, full-range or component loudspeaker, or a woofer and a tweeter at separate places",
)
LOW_END = rule(
    "speaker.low_end",
    scope=SPEAKER,
    unit="Hz",
    have=Either(FOR_TWEETER, setting("low_end_most_hz.tweeter"), setting("low_end_most_hz")),
    need=part.low_hz,
    compares="highest lower limit for the band of the place against the loudspeaker's lower limit",
    flaw="it does not reach low enough for the band of the place",
    fix="a loudspeaker that reaches lower",
)
TREBLE = rule(
    "speaker.treble",
    scope=SPEAKER,
    unit="Hz",
    have=part.high_hz,
    need=Either(FOR_WOOFER, setting("treble_least_hz.woofer"), setting("treble_least_hz")),
    compares="upper limit of the loudspeaker against the lowest allowed for the band of the place",
    flaw="it does not reach high enough for the band of the place",
    fix="a coaxial or component loudspeaker, which has a tweeter",
)
TWEETER_SPOT = rule(
    "speaker.tweeter_spot",
    scope=SPEAKER,
    unit="",
    have=Either(opening.tweeter_spot.is_true(), as_term(1), as_term(0)),
    need=1,
    compares="a spot for a separate tweeter against a component set",
    flaw="there is no spot for the separate tweeter of the set",
    fix="a coaxial loudspeaker",
    when=IS_SET,
)


def _room(name: str, have: FigureTerm, need: FigureTerm, thing: str) -> Rule:
    return rule(
        name,
        scope=SPEAKER,
        unit="mm",
        have=have,
        need=need,
        compares=f"space for the {thing} of a component set against its size",
        flaw=f"the {thing} of the set is too large for its spot",
        fix=f"a set with a smaller {thing}",
        when=IS_SET,
    )


TWEETER_HOLE = _room("speaker.tweeter_hole", opening.tweeter_hole_mm, part.tweeter_hole_mm, "tweeter")
TWEETER_DEPTH = _room("speaker.tweeter_depth", opening.tweeter_depth_mm, part.tweeter_depth_mm, "tweeter")
FILTER_WIDTH = _room("speaker.filter_width", opening.filter_w_mm, part.filter_w_mm, "filter")
FILTER_HEIGHT = _room("speaker.filter_height", opening.filter_h_mm, part.filter_h_mm, "filter")
FILTER_DEPTH = _room("speaker.filter_depth", opening.filter_d_mm, part.filter_d_mm, "filter")
