"""Line level: a head unit's output against an amplifier's input."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import line, setting

LINE_LEVEL = "head unit into an amplifier"

BY_LINE = line.preouts.is_above(0).named("the head unit has line outputs")

INPUT = rule(
    "line_level.input",
    scope=LINE_LEVEL,
    unit="outputs",
    have=line.usable,
    need=setting("line_outputs"),
    compares="line outputs, or loudspeaker outputs that the amplifier accepts, against the pair it needs",
    flaw="the head unit has no output that the amplifier takes",
    fix="a head unit with line outputs, an amplifier that takes a loudspeaker output, or a line output converter",
)
LEAST = rule(
    "line_level.least",
    scope=LINE_LEVEL,
    unit="V",
    have=line.greatest_v,
    need=line.input_min_v,
    compares="unclipped output of the head unit or its line driver against the lowest input for full power",
    flaw="the amplifier never reaches its full power",
    fix="a head unit with a higher output, a line driver, or an amplifier with a more sensitive input",
    when=BY_LINE,
)
MOST = rule(
    "line_level.most",
    scope=LINE_LEVEL,
    unit="V",
    have=line.input_max_v,
    need=line.preout_v,
    compares="highest input of the amplifier against the lowest output that the source can be set to",
    flaw="the output overloads the amplifier's input",
    fix="an amplifier with a wider input range, or a head unit with a lower output",
    when=BY_LINE,
)
