"""Models within an opening: how far it could be cut, and the factory equipment that is there.

What stays feeds other parts or is fed by them, so it has figures: those of the family that goes into the opening.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from catalog_schema.kinds import (
    STRICT,
    ChoiceKind,
    Count,
    Decibels,
    FilterHertz,
    Flag,
    Gap,
    Hertz,
    Ohms,
    Size,
    SquareCm,
    Volts,
    Watts,
)

MATERIALS = ("steel", "trim", "hidden_plastic")
PIECES = ("spare", "body")

Material = Annotated[str | None, ChoiceKind(MATERIALS)]
Piece = Annotated[str | None, ChoiceKind(PIECES)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """Size to which an opening could be enlarged, and its price."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    w_mm: Size = None
    """Greatest width it could be opened to."""
    h_mm: Size = None
    """Greatest height it could be opened to."""
    material: Material = None
    """Material that would be cut."""
    piece: Piece = None
    """A replaceable piece whose original is kept (spare), or the body itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginalHeadUnit:
    """The factory radio."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

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
    hp_max_hz: FilterHertz = None
    """Highest setting of that high-pass; 0: it has none."""
    lp_min_hz: FilterHertz = None
    """Lowest setting of the low-pass of its bass output."""
    lp_max_hz: FilterHertz = None
    """Highest setting of that low-pass; 0: it has none."""
    subsonic_hz: FilterHertz = None
    """Highest setting of the high-pass of its bass output; 0: it has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginalSpeaker:
    """The factory loudspeaker; its load is `factory_ohm` of the opening."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    rms_w: Watts = None
    """Continuous power rating of the whole loudspeaker."""
    sens_db: Decibels = None
    """Sensitivity at 1 m, at the level its basis names."""
    sens_basis: Annotated[str | None, ChoiceKind(("1w", "2v83"))] = None
    """Whether the sensitivity is at 1 W or at 2.83 V."""
    low_hz: Hertz = None
    """Lower end of the range the maker states."""
    high_hz: Hertz = None
    """Upper end of the range the maker states."""
    sd_cm2: SquareCm = None
    """Effective piston area."""
    xmax_mm: Gap = None
    """Peak travel one way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginalAmplifier:
    """The factory amplifier; its current is part of what the vehicle itself uses."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    full_channels: Count = None
    """Full-range channels."""
    full_w_4ohm: Watts = None
    """Power of one full-range channel into 4 ohm."""
    full_w_2ohm: Watts = None
    """Power of one full-range channel into 2 ohm."""
    full_min_ohm: Ohms = None
    """Least load of one full-range channel."""
    input_min_v: Volts = None
    """Least input voltage for full power."""
    input_max_v: Volts = None
    """Greatest input voltage without overload."""
    high_level_in: Flag = None
    """Whether it takes a loudspeaker output as its input."""
    hp_max_hz: FilterHertz = None
    """Highest setting of that high-pass; 0: it has none."""


ORIGINALS: dict[str, type[Any]] = {"dash": OriginalHeadUnit, "speaker": OriginalSpeaker, "amp_spot": OriginalAmplifier}
"""By kind of opening the factory equipment that may stay there."""


def nested_of(kind: str) -> dict[str, type[Any]]:
    """Return the models within an opening of a kind, by field: how far it could be cut, and what is there."""
    cut = {"cut": Cut} if kind in ("dash", "speaker") else {}
    return cut | ({"original": ORIGINALS[kind]} if kind in ORIGINALS else {})
