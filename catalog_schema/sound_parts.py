"""Parts that are heard or seen: head units, loudspeakers, amplifiers, bass drivers and boxes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from catalog_schema.kinds import (
    Amps,
    ChoiceKind,
    Count,
    CountKind,
    Decibels,
    FilterHertz,
    Flag,
    Gap,
    Hertz,
    Inches,
    Liters,
    Milliamps,
    NameKind,
    Ohms,
    Place,
    Ratio,
    Several,
    Size,
    SquareCm,
    Volts,
    Watts,
    Words,
)
from catalog_schema.part import Kind, Part, PartShape
from catalog_schema.patterns import Patterns


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadUnit(Part):
    """A radio or screen for a dash opening."""

    family: ClassVar[str] = "head_unit"

    body_w_mm: Size = None
    """Width of the body that enters the opening."""
    body_h_mm: Size = None
    """Height of the body that enters the opening."""
    body_d_mm: Size = None
    """Depth of the body behind the face."""
    plugs_d_mm: Gap = 50  # type: ignore[assignment]
    """Depth that plugs, harness and antenna lead need behind the body."""
    face_w_mm: Size = None
    """Width of the face, which stays in front and covers the edge."""
    face_h_mm: Size = None
    """Height of the face."""
    face_d_mm: Gap = None
    """Height of the face above the panel."""
    mount: Annotated[Kind, ChoiceKind(("body", "twin_shaft"))] = "body"
    """Mounting: by its body in a rectangular opening, or by two shafts."""
    shaft_min_mm: Size = None
    """Least distance between shaft centers."""
    shaft_max_mm: Size = None
    """Greatest distance between shaft centers."""
    screen: Annotated[Kind, ChoiceKind(("none", "flush", "floating"))] = None
    """No screen, one within the face, or one that hangs in front of the panel."""
    screen_in: Inches = None
    """Diagonal of the screen as it is sold."""
    screen_w_mm: Size = None
    """Width of the screen's housing."""
    screen_h_mm: Size = None
    """Height of the screen's housing."""
    screen_d_mm: Gap = None
    """Thickness of a floating screen's housing, in front of the face."""
    screen_rise_min_mm: Place = None
    """Lowest height of the screen's center over the body's center."""
    screen_rise_max_mm: Place = None
    """Greatest height of the screen's center over the body's center."""
    preouts: Count = None
    """Line outputs, counted singly."""
    preout_v: Volts = None
    """Line output voltage, as the maker states it."""
    amp_channels: Count = None
    """Channels of the built-in amplifier."""
    amp_w: Watts = None
    """Continuous power of one built-in channel into 4 ohm."""
    amp_min_ohm: Ohms = None
    """Least load of a built-in channel."""
    features: Words = None
    """Features, as words to wish for."""
    current_a: Amps = None
    """Greatest current drawn."""
    standby_ma: Milliamps = None
    """Current drawn at rest."""
    hp_min_hz: FilterHertz = None
    """Lowest setting of the high-pass of its outputs; a fixed filter has one setting, no filter has 0."""
    hp_max_hz: FilterHertz = None
    """Highest setting of that high-pass; 0: it has none."""
    lp_min_hz: FilterHertz = None
    """Lowest setting of the low-pass of its bass output."""
    lp_max_hz: FilterHertz = None
    """Highest setting of that low-pass; 0: it has none."""
    subsonic_hz: FilterHertz = None
    """Highest setting of the high-pass of its bass output; 0: it has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Speaker(Part):
    """A loudspeaker for a speaker opening."""

    family: ClassVar[str] = "speaker"

    shape: PartShape
    """Shape of the cut-out."""
    size: Annotated[str, NameKind(longest=60)]
    """The size it is sold by: a name, never a measure."""
    cutout_w_mm: Size = None
    """Width of the hole it needs."""
    cutout_h_mm: Size = None
    """Height of the hole it needs."""
    depth_mm: Size = None
    """Depth behind the mounting face."""
    flange_w_mm: Size = None
    """Width over the flange."""
    flange_h_mm: Size = None
    """Height over the flange."""
    bolt_w_mm: Size = None
    """Distance of the bolt hole centers across."""
    bolt_h_mm: Size = None
    """Distance of the bolt hole centers down."""
    bolt_circle_mm: Size = None
    """Diameter of the circle through the bolt hole centers."""
    bolt_count: Several = None
    """Number of bolt holes on the circle."""
    bolt_patterns: Patterns = None
    """More bolt patterns of the same flange, such as ``4x156; 2x130``: any that an opening's holes meet will do."""
    magnet_mm: Size = None
    """Diameter over the magnet."""
    front_mm: Gap = None
    """Height above the mounting face."""
    kind: Annotated[Kind, ChoiceKind(("coaxial", "component", "full_range", "midbass", "tweeter"))] = None
    """Box that it is built for."""
    coils: Annotated[int | None, CountKind(least=1, most=4)] = 1
    """Number of voice coils."""
    impedance_ohm: Ohms
    """Nominal impedance of each coil."""
    rms_w: Watts
    """Continuous power rating of the whole loudspeaker."""
    sens_db: Decibels = None
    """Sensitivity at 1 m, at the level its basis names."""
    sens_basis: Annotated[Kind, ChoiceKind(("1w", "2v83"))] = None
    """Whether the sensitivity is at 1 W or at 2.83 V."""
    low_hz: Hertz = None
    """Lower end of the range the maker states."""
    high_hz: Hertz = None
    """Upper end of the range the maker states."""
    fs_hz: Hertz = None
    """Free-air resonance."""
    qts: Ratio = None
    """Total quality factor at resonance."""
    vas_l: Liters = None
    """Air volume as stiff as the suspension."""
    sd_cm2: SquareCm = None
    """Effective piston area."""
    xmax_mm: Gap = None
    """Peak travel one way."""
    tweeter_hole_mm: Size = None
    """Diameter of the hole that the separate tweeter of a component set needs."""
    tweeter_depth_mm: Size = None
    """Depth of that tweeter behind its mounting face."""
    filter_w_mm: Size = None
    """Width of the filter of a component set."""
    filter_h_mm: Size = None
    """Height of the filter of a component set."""
    filter_d_mm: Size = None
    """Depth of the filter of a component set."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amplifier(Part):
    """A power amplifier."""

    family: ClassVar[str] = "amplifier"

    full_channels: Annotated[int, CountKind(most=32)]
    """Full-range channels."""
    full_w_4ohm: Watts = None
    """Power of one full-range channel into 4 ohm."""
    full_w_2ohm: Watts = None
    """Power of one full-range channel into 2 ohm."""
    full_min_ohm: Ohms = None
    """Least load of one full-range channel."""
    full_bridged_w_4ohm: Watts = None
    """Power of two bridged full-range channels into 4 ohm."""
    full_bridged_min_ohm: Ohms = None
    """Least load of two bridged full-range channels."""
    bass_channels: Annotated[int | None, CountKind(most=8)] = 0
    """Channels for bass alone."""
    bass_w_4ohm: Watts = None
    """Power of one bass channel into 4 ohm."""
    bass_w_2ohm: Watts = None
    """Power of one bass channel into 2 ohm."""
    bass_w_1ohm: Watts = None
    """Power of one bass channel into 1 ohm."""
    bass_min_ohm: Ohms = None
    """Least load of a bass channel."""
    power_basis: Annotated[Kind, ChoiceKind(("rms", "cta2006", "peak"))] = None
    """Basis of the stated powers; a peak power is never used for matching."""
    input_min_v: Volts = None
    """Least input voltage for full power."""
    input_max_v: Volts = None
    """Greatest input voltage without overload."""
    high_level_in: Flag = None
    """Whether it takes a loudspeaker output as its input."""
    # `class` is a reserved word of the language and a column of the lists: see columns.py.
    class_: Annotated[Kind, ChoiceKind(("ab", "d"))] = None
    """Working class of the output stage."""
    fuse_a: Amps = None
    """Fuse the maker asks for."""
    current_a: Amps = None
    """Greatest current drawn."""
    w_mm: Size = None
    """Width."""
    h_mm: Size = None
    """Height."""
    d_mm: Size = None
    """Depth."""
    level_control: Flag = None
    """Whether a remote level control can be connected."""
    standby_ma: Milliamps = None
    """Current drawn at rest."""
    hp_min_hz: FilterHertz = None
    """Lowest setting of the high-pass of its channels; a fixed filter has one setting, no filter has 0."""
    hp_max_hz: FilterHertz = None
    """Highest setting of that high-pass; 0: it has none."""
    lp_min_hz: FilterHertz = None
    """Lowest setting of the low-pass of its channels."""
    lp_max_hz: FilterHertz = None
    """Highest setting of that low-pass; 0: it has none."""
    subsonic_hz: FilterHertz = None
    """Highest setting of the high-pass of a channel for bass; 0: it has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subwoofer(Part):
    """A bass driver, to be put into an enclosure."""

    family: ClassVar[str] = "subwoofer"

    size_in: Inches
    """The size it is sold by."""
    cutout_mm: Size = None
    """Diameter of the hole it needs."""
    depth_mm: Size = None
    """Depth behind the mounting face."""
    outer_mm: Size = None
    """Diameter over the flange."""
    displaces_l: Liters = None
    """Volume it takes up inside the enclosure."""
    coils: Annotated[int, CountKind(least=1, most=4)]
    """Number of voice coils."""
    coil_ohm: Ohms
    """Nominal impedance of each coil."""
    rms_w: Watts
    """Continuous power rating of the whole driver."""
    fs_hz: Hertz = None
    """Free-air resonance."""
    qts: Ratio = None
    """Total quality factor at resonance."""
    qes: Ratio = None
    """Electrical quality factor at resonance."""
    vas_l: Liters = None
    """Air volume as stiff as the suspension."""
    sd_cm2: SquareCm = None
    """Effective piston area."""
    xmax_mm: Gap = None
    """Peak travel one way."""
    vented_pole: Flag = None
    """Whether the pole piece is vented and wants free air behind it."""
    box_l: Liters = None
    """Volume of the closed box that its maker recommends for one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Enclosure(Part):
    """A ready-made bass box."""

    family: ClassVar[str] = "enclosure"

    drivers: Annotated[int, CountKind(least=1, most=8)]
    """Number of drivers that it takes."""
    driver_size_in: Inches
    """Size of each driver it takes."""
    cutout_mm: Size = None
    """Diameter of its driver holes."""
    driver_depth_mm: Size = None
    """Depth behind its driver holes."""
    net_l: Liters = None
    """Net volume of the whole box."""
    chambers: Several = 1
    """Number of separate chambers."""
    kind: Annotated[Kind, ChoiceKind(("sealed", "vented"))] = None
    """Closed, or with a port."""
    tuned_hz: Hertz = None
    """Frequency the port is tuned to."""
    port_mm: Size = None
    """Inner diameter of a round port; of the circle of the same area where there are several."""
    port_w_mm: Size = None
    """Inner width of a slot."""
    port_h_mm: Size = None
    """Inner height of a slot."""
    port_flared: Flag = None
    """Whether both ends of the port are well flared."""
    w_mm: Size = None
    """Outer width."""
    h_mm: Size = None
    """Outer height."""
    d_mm: Size = None
    """Outer depth at the floor."""
    d_top_mm: Size = None
    """Outer depth at the top."""
