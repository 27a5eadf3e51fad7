"""A vehicle as it was measured: its openings, its supply, its glass, and if nothing may be fastened.

Positions are millimeters from the opening's center, x to the right, y up. A figure is a number,
a text with a unit, or ``{"value": 61, "tol": 1, "basis": "measured"}``; left out, it is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from catalog_schema.figures import read_figure
from catalog_schema.kinds import (
    SHAPES,
    STRICT,
    AmpHours,
    Amps,
    ChoiceKind,
    CountKind,
    Flag,
    Gap,
    Id,
    Kilograms,
    Kind,
    Label,
    Meters,
    Milliamps,
    Ohms,
    Percent,
    Place,
    Several,
    Size,
    Text,
    TextKind,
    Volts,
    as_word,
    is_blank,
    is_printable,
)
from catalog_schema.nested import Cut as Cut
from catalog_schema.nested import OriginalAmplifier, OriginalHeadUnit, OriginalSpeaker
from catalog_schema.nested import nested_of as nested_of
from catalog_schema.notation import Notation
from catalog_schema.part import Basis
from catalog_schema.places import KINDS as KINDS
from catalog_schema.places import OPENING_FAMILIES as OPENING_FAMILIES
from catalog_schema.problems import FieldError


@dataclass(frozen=True)
class ReachKind(Kind):
    """Access to a thing: yes or no, a word, or the clearance it needs in mm."""

    def read_filled(self, cell: object, notation: Notation) -> str:
        if isinstance(cell, bool):
            return "fingers" if cell else "none"
        word = {"yes": "fingers", "true": "fingers", "no": "none", "false": "none"}.get(as_word(cell), as_word(cell))
        try:
            clear = read_figure(cell, "mm", notation=notation)
        except FieldError:
            if len(word) > 200 or not is_printable(word):
                raise FieldError(cell, self.expects()) from None
            return word
        if clear is None or clear.value < 0:
            raise FieldError(cell, self.expects())
        return f"{clear.value:f}"

    def expects(self) -> str:
        return "fingers, lever, none, or a clearance in mm"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["string", "number", "boolean", "null"]}


@dataclass(frozen=True)
class HoldKind(Kind):
    """Holds for something: yes or no, or words for them."""

    def read_filled(self, cell: object, notation: Notation) -> str:
        if isinstance(cell, bool):
            return "yes" if cell else "no"
        pieces = cell if isinstance(cell, list | tuple) else [cell]
        return "; ".join(str(TextKind(500).read(piece)) for piece in pieces if not is_blank(piece))

    def expects(self) -> str:
        return "yes, no, or what holds it, in words"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["string", "boolean", "array", "null"], "items": {"type": "string"}}


Reach = Annotated[str | None, ReachKind()]
Hold = Annotated[str | None, HoldKind()]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepClear:
    """A thing that must stay reachable."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    name: Id
    """Kind."""
    x_mm: Place = None
    """Left edge, from the opening's center."""
    y_mm: Place = None
    """Lower edge, from the opening's center."""
    w_mm: Size = None
    """Width."""
    h_mm: Size = None
    """Height."""
    reach: Reach = None
    """Access to it, which sets the clearance: by fingers unless stated otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """Fields of every opening."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT
    opening_kind: ClassVar[str] = "opening"

    @classmethod
    def narrowed(cls, kind: object) -> type[Opening]:
        """Return the model of a kind of opening; where the kind is not known, what every opening has."""
        return OPENINGS.get(str(kind), cls)

    opening_id: Id
    """Its short name within the vehicle."""
    kind: Annotated[str, ChoiceKind(KINDS)]
    """Which of the five kinds it is."""
    label: Label = None
    """Name at the counter."""
    basis: Basis = "measured"
    """Where its figures come from, which sets their tolerance."""
    notes: Text = None
    """Anything else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DashOpening(Opening):
    """A place for a head unit."""

    opening_kind: ClassVar[str] = "dash"

    shape: Annotated[str | None, ChoiceKind(("rect", "twin_shaft"))] = None
    """A rectangle, or two shaft holes with a nose aperture."""
    w_mm: Size = None
    """Width of the aperture."""
    h_mm: Size = None
    """Height of the aperture."""
    depth_mm: Size = None
    """Free depth behind the panel's face."""
    shaft_mm: Size = None
    """Distance between the shaft centers."""
    proud_max_mm: Gap = None
    """Height by which a unit may stand out of the panel."""
    keep_clear: tuple[KeepClear, ...] = ()
    """Things that must stay reachable around it."""
    rear_support: Flag = None
    """Whether an existing stud can hold the unit's back."""
    cut: Cut | None = None
    """Size to which it could be enlarged."""
    original: OriginalHeadUnit | None = None
    """The factory radio."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeakerOpening(Opening):
    """A place for loudspeakers, one a side or one for both."""

    opening_kind: ClassVar[str] = "speaker"

    place: Label = None
    """Where it is: dash top, door, rear shelf."""
    count: Annotated[int | None, CountKind(least=1, most=2)] = 2
    """Number of such places: two, or one that serves both channels."""
    shape: Annotated[str | None, ChoiceKind(SHAPES)] = None
    """Shape of the hole."""
    hole_w_mm: Size = None
    """Width of the hole."""
    hole_h_mm: Size = None
    """Height of the hole."""
    bolt_w_mm: Size = None
    """Distance of the existing bolt holes across."""
    bolt_h_mm: Size = None
    """Distance of the existing bolt holes down."""
    bolt_circle_mm: Size = None
    """Diameter of the circle through the existing bolt holes."""
    bolt_count: Several = None
    """Number of bolt holes on the circle."""
    depth_mm: Size = None
    """Free depth behind the mounting face."""
    front_mm: Gap = None
    """Free depth in front of it, up to the grille."""
    flat_w_mm: Size = None
    """Width of the flat face around the hole."""
    flat_h_mm: Size = None
    """Height of the flat face around the hole."""
    behind: Annotated[str | None, ChoiceKind(("fixed", "moving_glass"))] = None
    """Surface behind: something fixed, or glass that moves."""
    beside_mm: Gap = None
    """From the center to the nearest thing beside the magnet."""
    factory_ohm: Ohms = None
    """Load of the loudspeaker that was there."""
    wire_m: Meters = None
    """Wire to each loudspeaker from the spot of the amplifier, along the way it goes."""
    role: Annotated[str | None, ChoiceKind(("full", "woofer", "tweeter"))] = "full"
    """The part of the sound that it plays: all of it, or one of two bands that separate places share."""
    position: Annotated[str | None, ChoiceKind(("front", "rear"))] = "front"
    """In front of the listeners, who sit in the front seats, or behind them."""
    tweeter_spot: Flag = None
    """Whether there is a spot for a separate tweeter: a pillar, a sail panel, a corner of the dash."""
    tweeter_hole_mm: Size = None
    """Diameter of the hole at the tweeter's spot."""
    tweeter_depth_mm: Size = None
    """Free depth at the tweeter's spot."""
    filter_w_mm: Size = None
    """Free width of the spot for a component set's filter."""
    filter_h_mm: Size = None
    """Free height of the spot for a component set's filter."""
    filter_d_mm: Size = None
    """Free depth of the spot for a component set's filter."""
    cut: Cut | None = None
    """Size to which it could be enlarged."""
    original: OriginalSpeaker | None = None
    """The factory loudspeaker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CargoSpace(Opening):
    """A place for a bass box."""

    opening_kind: ClassVar[str] = "cargo"

    w_mm: Size = None
    """Free width."""
    h_mm: Size = None
    """Free height."""
    d_mm: Size = None
    """Free depth at the floor."""
    d_top_mm: Size = None
    """Free depth at the top."""
    gate_w_mm: Size = None
    """Width of the way in."""
    gate_h_mm: Size = None
    """Height of the way in."""
    floor_loss_mm: Gap = None
    """Height that a false floor takes."""
    mass_max_kg: Kilograms = None
    """Greatest mass the floor may carry there."""
    fasten: Hold = None
    """Holds for a box that need no new holes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AmpSpot(Opening):
    """A place for an amplifier."""

    opening_kind: ClassVar[str] = "amp_spot"

    w_mm: Size = None
    """Free width."""
    h_mm: Size = None
    """Free height."""
    d_mm: Size = None
    """Free depth."""
    run_m: Meters = None
    """Supply cable from the battery to it; if not known, that to the cargo space."""
    signal_m: Meters = None
    """Signal leads and remote wire from the head unit to it, along the way they go."""
    ground: Annotated[str | None, ChoiceKind(("body", "cable"))] = None
    """Ground there: bare metal of the body beside it, or a cable back to the battery."""
    fasten: Hold = None
    """Holds for an amplifier that need no new holes."""
    air: Hold = None
    """Whether air can move through it."""
    original: OriginalAmplifier | None = None
    """The factory amplifier that is there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlSpot(Opening):
    """A place for a small control."""

    opening_kind: ClassVar[str] = "control_spot"

    w_mm: Size = None
    """Free width."""
    h_mm: Size = None
    """Free height."""
    d_mm: Size = None
    """Free depth."""


OPENINGS: dict[str, type[Opening]] = {
    model.opening_kind: model for model in (DashOpening, SpeakerOpening, CargoSpace, AmpSpot, ControlSpot)
}
"""Every kind of opening by its name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Electrical:
    """The vehicle's own supply."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    system_v: Volts = None
    """Nominal voltage."""
    ground: Annotated[str | None, ChoiceKind(("negative", "positive"))] = None
    """Which pole is joined to the body."""
    charge_a: Amps = None
    """Charging current when driving."""
    charge_idle_a: Amps = None
    """Charging current at idle."""
    base_load_a: Amps = None
    """Current of the vehicle itself when driving."""
    battery_ah: AmpHours = None
    """Capacity of the battery."""
    rest_ma: Milliamps = None
    """Standby drain of the vehicle itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Runs:
    """Lengths of cable from place to place."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    battery_to_dash_m: Meters = None
    """From the battery to the dash."""
    battery_to_cargo_m: Meters = None
    """From the battery to the cargo space."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pane:
    """A pane of glass."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    pane: Id
    """Which pane it is."""
    vlt_pct: Percent = None
    """Share of visible light that the glass lets through."""
    frameless: Flag = None
    """Whether its edge is open on all sides."""
    limit_pct: Percent = None
    """The least the local rules allow, as the user entered it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoFasten:
    """A zone into which nothing may be fastened, whatever the limits say."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    where: Id
    """The zone."""
    why: Text = None
    """Thing at that place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """One vehicle, as measured."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    vehicle_id: Id
    """Its short name."""
    label: Label = None
    """Name at the counter."""
    year: Annotated[int | None, CountKind(least=1880, most=2200)] = None
    """Year it was built."""
    body: Label = None
    """Kind of body."""
    like: Label = None
    """The vehicle whose figures it began with."""
    keys_on_wheel: Flag = None
    """Whether it has keys on the steering wheel that shall go on working."""
    electrical: Electrical = field(default_factory=Electrical)
    """Its supply."""
    runs: Runs = field(default_factory=Runs)
    """Its cable runs."""
    openings: tuple[Opening, ...] = ()
    """Its openings."""
    panes: tuple[Pane, ...] = ()
    """Its glass."""
    no_fasten: tuple[NoFasten, ...] = ()
    """Where nothing may be fastened."""
    notes: Text = None
    """Anything else."""
