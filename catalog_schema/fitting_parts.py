"""Parts that hold, feed, darken and guard: adapters, cable, installation parts, film, security, accessories."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from catalog_schema.kinds import (
    ROUTES,
    Amps,
    ChoiceKind,
    Flag,
    Gap,
    Meters,
    Milliamps,
    Percent,
    Place,
    Several,
    Size,
    SquareMm,
    Words,
    WordsKind,
)
from catalog_schema.part import Kind, OpeningShape, Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter(Part):
    """A plate, ring, kit or filler that mates a part and an opening."""

    family: ClassVar[str] = "adapter"

    for_: Annotated[str, ChoiceKind(("dash", "speaker"))]
    """The kind of opening it is made for."""
    fits_shape: OpeningShape = None
    """Shape of the opening it is made for."""
    fits_w_mm: Size = None
    """Width of the opening it is made for."""
    fits_h_mm: Size = None
    """Height of the opening it is made for."""
    fits_bolt_w_mm: Size = None
    """Its bolt holes towards the opening, across."""
    fits_bolt_h_mm: Size = None
    """Its bolt holes towards the opening, down."""
    fits_bolt_circle_mm: Size = None
    """Its bolt circle towards the opening."""
    fits_bolt_count: Several = None
    """Number of bolt holes on that circle."""
    gives_shape: OpeningShape = None
    """Shape of the opening it gives to the part."""
    gives_w_mm: Size = None
    """Width of the opening it gives to the part."""
    gives_h_mm: Size = None
    """Height of the opening it gives to the part."""
    gives_bolt_w_mm: Size = None
    """Its bolt holes for the part, across; none at all: clips or its own screws hold the part."""
    gives_bolt_h_mm: Size = None
    """Its bolt holes for the part, down."""
    gives_bolt_circle_mm: Size = None
    """Its bolt circle for the part."""
    gives_bolt_count: Several = None
    """Number of bolt holes on that circle."""
    forward_mm: Place = None
    """Distance by which it moves the part towards the cabin: added behind, taken in front."""
    thick_mm: Gap = None
    """Thickness of the plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable(Part):
    """Supply cable, or a set of it with its fuse."""

    family: ClassVar[str] = "cable"

    conductor: Annotated[Kind, ChoiceKind(("copper", "cca"))] = None
    """Copper, or copper-clad aluminum."""
    area_mm2: SquareMm = None
    """Cross-section of the conductor."""
    length_m: Meters = None
    """Length of one piece."""
    rated_a: Amps = None
    """Current the maker allows."""
    fuse_a: Amps = None
    """Fuse that comes with it."""


INSTALL_KINDS = (
    "fuse",
    "fuse_holder",
    "ground_lead",
    "remote_wire",
    "signal_lead",
    "speaker_wire",
    "terminal",
    "grommet",
    "harness",
    "antenna_adapter",
    "wheel_interface",
    "distribution",
    "damping",
    "sealing",
    "strap",
    "filter",
)
SALE_UNITS = ("piece", "m", "m2", "pair")


@dataclass(frozen=True, slots=True, kw_only=True)
class Install(Part):
    """Parts of an installation beside its main ones: fuses, wire, leads, terminals, harness, damping."""

    family: ClassVar[str] = "install"

    kind: Annotated[Kind, ChoiceKind(INSTALL_KINDS)] = None
    """Kind of thing."""
    unit: Annotated[Kind, ChoiceKind(SALE_UNITS)] = None
    """Unit of sale: a pack holds so many of it."""
    rated_a: Amps = None
    """Rating of a fuse; current that a holder or a distribution block takes."""
    area_mm2: SquareMm = None
    """Cross-section of a wire; largest one that a terminal takes."""
    channels: Several = None
    """Channels that a signal lead or a harness carries."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Film(Part):
    """Film for glass."""

    family: ClassVar[str] = "film"

    vlt_pct: Percent = None
    """Share of visible light that it lets through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Security(Part):
    """A layer against theft."""

    family: ClassVar[str] = "security"

    covers: Annotated[tuple[str, ...] | None, WordsKind(ROUTES)] = None
    """The routes of theft it stands in the way of."""
    effort: Annotated[Kind, ChoiceKind(("none", "habit", "chore"))] = None
    """Duty that it puts on the owner every day."""
    standby_ma: Milliamps = None
    """Current drawn at rest."""
    own_battery: Flag = None
    """Whether it goes on without the car's battery."""


ACCESSORIES = (
    "camera",
    "level_control",
    "board",
    "floor",
    "harness",
    "antenna",
    "line_driver",
    "line_output_converter",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Accessory(Part):
    """A thing that makes others work together."""

    family: ClassVar[str] = "accessory"

    kind: Annotated[Kind, ChoiceKind(ACCESSORIES)] = None
    """Kind of thing."""
    needs: Words = None
    """Features that it needs, as words: of the head unit, its ``line_output`` or ``speaker_output``."""
    gives: Words = None
    """Features that it gives, as words; ``line_8v`` is a line level of up to 8 V, set when it is fitted."""
    standby_ma: Milliamps = None
    """Current drawn at rest."""
    w_mm: Size = None
    """Width: of a board its usable face, of anything else over all."""
    h_mm: Size = None
    """Height: of a board its usable face, as it stands on edge, of anything else over all."""
    d_mm: Size = None
    """Depth: of a board its thickness, of anything else over all."""
