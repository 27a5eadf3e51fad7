"""Fields of every part, whatever its family."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from catalog_schema.figures import DEFAULT_TOL_MM
from catalog_schema.kinds import (
    SHAPES,
    STRICT,
    ChoiceKind,
    Count,
    Days,
    Hours,
    Kilograms,
    Money,
    NameKind,
    Several,
    Text,
)

Basis = Annotated[str | None, ChoiceKind(tuple(DEFAULT_TOL_MM))]
PartShape = Annotated[str, ChoiceKind(SHAPES)]
OpeningShape = Annotated[str | None, ChoiceKind((*SHAPES, "twin_shaft"))]
Kind = str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Fields of every family."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT
    family: ClassVar[str] = "part"

    part_id: Annotated[str, NameKind(longest=200)]
    """The shop's or the supplier's number, kept letter by letter: leading zeros stay."""
    maker: Annotated[str, NameKind(longest=200)]
    """Maker."""
    model: Annotated[str, NameKind(longest=400)]
    """Model, in the maker's words."""
    price: Money
    """Price of one pack, in the store's currency, without tax."""
    pack_of: Several = 1
    """Number of pieces in a pack."""
    labour_h: Hours = None
    """Hours to fit one."""
    mass_kg: Kilograms = None
    """Mass of one piece."""
    stock: Count = None
    """Packs on the shelf."""
    lead_days: Days = None
    """Days until ordered packs arrive."""
    basis: Basis = "maker"
    """Where the row's figures come from, which sets their tolerance."""
    source: Text = None
    """The list or sheet the row was taken from."""
    notes: Text = None
    """Anything else."""
