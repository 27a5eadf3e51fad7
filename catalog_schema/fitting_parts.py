"""Parts for mounting, supply, glass and security: adapters, cable, installation parts, film, security, accessories."""

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
    """A plate, ring, kit or filler between a part and an opening."""

    family: ClassVar[str] = "adapter"

    for_: Annotated[str, ChoiceKind(("dash", "speaker"))]
    """The kind of opening that it fits."""
    fits_shape: OpeningShape = None
    """Shape of the opening that it fits."""
    fits_w_mm: Size = None
    """Width of the opening that it fits."""
    fits_h_mm: Size = None
    """Height of the opening that it fits."""
    fits_bolt_w_mm: Size = None
    """Horizontal distance of its bolt holes on the opening's side."""
    fits_bolt_h_mm: Size = None
    """Vertical distance of its bolt holes on the opening's side."""
    fits_bolt_circle_mm: Size = None
    """Its bolt circle on the opening's side."""
    fits_bolt_count: Several = None
    """Number of bolt holes on that circle."""
    gives_shape: OpeningShape = None
    """Shape of the opening that it offers the part."""
    gives_w_mm: Size = None
    """Width of the opening that it offers the part."""
    gives_h_mm: Size = None
    """Height of the opening that it offers the part."""
    gives_bolt_w_mm: Size = None
    """Horizontal distance of its bolt holes for the part; if it has none, clips or its own screws hold the part."""
    gives_bolt_h_mm: Size = None
    """Vertical distance of its bolt holes for the part."""
    gives_bolt_circle_mm: Size = None
    """Its bolt circle for the part."""
    gives_bolt_count: Several = None
    """Number of bolt holes on that circle."""
    forward_mm: Place = None
    """Distance by which it moves the part toward the cabin: more depth behind, less in front."""
    thick_mm: Gap = None
    """Thickness of the plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable(Part):
    """Supply cable, or a cable kit with its fuse."""

    family: ClassVar[str] = "cable"

    conductor: Annotated[Kind, ChoiceKind(("copper", "cca"))] = None
    """Copper, or copper-clad aluminum."""
    area_mm2: SquareMm = None
    """Cross-section of the conductor."""
    length_m: Meters = None
    """Length of one piece."""
    rated_a: Amps = None
    """Current that the maker allows."""
    fuse_a: Amps = None
    """Fuse included with it."""


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
    """Other parts of an installation: fuses, wire, leads, terminals, harness, damping."""

    family: ClassVar[str] = "install"

    kind: Annotated[Kind, ChoiceKind(INSTALL_KINDS)] = None
    """Kind of thing."""
    unit: Annotated[Kind, ChoiceKind(SALE_UNITS)] = None
    """Unit of sale, counted per pack."""
    rated_a: Amps = None
    """Rating of a fuse; maximum current of a holder or a distribution block."""
    area_mm2: SquareMm = None
    """Cross-section of a wire; the largest one for a terminal."""
    channels: Several = None
    """Number of channels of a signal lead or a harness."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Film(Part):
    """Film for glass."""

    family: ClassVar[str] = "film"

    vlt_pct: Percent = None
    """Visible light transmission of the film."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Security(Part):
    """A layer of protection against theft."""

    family: ClassVar[str] = "security"

    covers: Annotated[tuple[str, ...] | None, WordsKind(ROUTES)] = None
    """The routes of theft that it blocks."""
    effort: Annotated[Kind, ChoiceKind(("none", "habit", "chore"))] = None
    """Daily effort for the owner."""
    standby_ma: Milliamps = None
    """Standby drain."""
    own_battery: Flag = None
    """Whether it works without the car's battery."""
    cuts_circuit: Flag = None
    """Whether it interrupts a circuit of the car, as a hidden cut-out does."""


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
    """A device that makes others work together."""

    family: ClassVar[str] = "accessory"

    kind: Annotated[Kind, ChoiceKind(ACCESSORIES)] = None
    """Kind of thing."""
    needs: Words = None
    """Required features, as words; of the head unit also ``line_output`` or ``speaker_output``."""
    gives: Words = None
    """Provided features, as words; ``line_8v`` is a line level of up to 8 V, adjusted during installation."""
    standby_ma: Milliamps = None
    """Standby drain."""
    w_mm: Size = None
    """Width: for a board the usable face, otherwise overall."""
    h_mm: Size = None
    """Height: for a board the usable face when upright, otherwise overall."""
    d_mm: Size = None
    """Depth: for a board its thickness, otherwise overall."""
