"""A job: one customer's car, wishes and limits."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Annotated, Any, ClassVar

from catalog_schema.kinds import (
    ROUTES,
    STRICT,
    ChoiceKind,
    CountKind,
    Days,
    Id,
    Inches,
    Kind,
    Label,
    Milliamps,
    Money,
    NameKind,
    Names,
    Percent,
    Text,
    Words,
    WordsKind,
)
from catalog_schema.ladder import DEFAULT_STEP as DEFAULT_STEP
from catalog_schema.ladder import LADDER as LADDER
from catalog_schema.ladder import LADDER_MEANING as LADDER_MEANING
from catalog_schema.ladder import step_rank as step_rank
from catalog_schema.notation import Notation

Step = Annotated[str | None, ChoiceKind(LADDER)]
TAXES = ("included", "excluded")
PinnedPart = Annotated[str | None, NameKind()]
Wish = Annotated[int, CountKind(least=0, most=5)]


@dataclass(frozen=True)
class CellKind(Kind):
    """A cell as it was written, which the field of its family reads."""

    def read_filled(self, cell: object, notation: Notation) -> object:
        return tuple(cell) if isinstance(cell, list) else cell

    def expects(self) -> str:
        return "a figure of its family"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["string", "number", "boolean", "array", "null"]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Without:
    """Things that no package may contain, by name: parts, and everything of a maker or a supplier."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    parts: Names = ()
    """Parts, by their part_id."""
    makers: Names = ()
    """Makers, in capitals or not."""
    suppliers: Names = ()
    """Suppliers, by the name of their lists."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnedPart:
    """A part that the customer has: it costs labor alone, in this job and in no other."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    part_id: Id
    """Its name in the catalog; a name of its own where its figures are typed here."""
    family: Label = None
    """Its family, where its figures are typed here."""
    maker: Label = None
    """Its maker."""
    model: Label = None
    """Its model, as its maker calls it."""
    opening_id: Label = None
    """Where it is to go: loudspeakers have to name it."""
    pieces: Annotated[int | None, CountKind(least=1, most=8)] = None
    """Number of pieces that the customer has: a pair of loudspeakers, one of all else, unless stated."""
    condition: Label = None
    """Its condition, as it was brought."""
    figures: dict[str, Annotated[object, CellKind()]] = field(default_factory=dict)
    """Figures by the names of its family's fields."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits set by the customer: the most allowed, and the least required."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    alteration: Step = DEFAULT_STEP
    """The highest step of the alteration ladder anywhere in the car."""
    per_opening: dict[str, Step] = field(default_factory=dict)
    """A step of its own for an opening."""
    budget: Money = None
    """Most the whole may cost, parts and labor."""
    screen_min_in: Inches = None
    """Least screen diagonal."""
    must: Words = ()
    """Features the head unit has to have."""
    at_rest_ma: Milliamps = None
    """Most current drawn at rest."""
    without: Without = field(default_factory=Without)
    """Parts, makers and suppliers that no package may hold."""
    deliver_within_days: Days = None
    """Most days until every part is there; a part in stock is there at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """Weight of each wish, 0 (not at all) to 5 (most)."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    loudness: Wish = 3
    """Loud and clear in the cabin."""
    bass: Wish = 3
    """Low notes."""
    screen: Wish = 3
    """A large screen."""
    original_look: Wish = 3
    """The car looks as it did."""
    price: Wish = 3
    """Money kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One customer's car and wishes."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    job_id: Id
    """Its short name."""
    vehicle_id: Id
    """The vehicle it is about."""
    label: Label = None
    """Name at the counter."""
    limits: Limits = field(default_factory=Limits)
    """Limits: the most allowed and the least required."""
    choose: Names = ()
    """Slots to fill: openings by name, or head_unit, bass, film, security."""
    keep: Names = ()
    """Openings whose original stays."""
    pin: dict[str, PinnedPart] = field(default_factory=dict)
    """The part that has to be at an opening or in a slot: head_unit, bass, amplifier, cable, film or security."""
    owned: tuple[OwnedPart, ...] = ()
    """Parts that the customer has."""
    wishes: Wishes = field(default_factory=Wishes)
    """Weight of each wish."""
    tiers: tuple[Money, ...] = ()
    """Budgets to compare."""
    tax: Annotated[str | None, ChoiceKind(TAXES)] = "included"
    """Whether its budgets hold the tax."""
    security_routes: Annotated[tuple[str, ...] | None, WordsKind(ROUTES)] = ()
    """Routes of theft to be covered."""
    film_vlt_pct: Percent = None
    """Light that the film itself lets through, as the customer wants it: 5 is nearly black, 70 hardly shows."""
    notes: Text = None
    """Anything else."""
    supersedes: Label = None
    """The job that was signed off and that this one takes the place of."""


def with_budgets_taxed(job: Job, tax_pct: Decimal) -> Job:
    """Return a job whose budgets hold the tax, as every amount of an answer does.

    >>> job = Job(job_id="j", vehicle_id="v", tiers=(Decimal(100),), tax="excluded")
    >>> with_budgets_taxed(job, Decimal(19)).tiers
    (Decimal('119.00'),)
    """
    if job.tax != "excluded":
        return job
    cent = Decimal("0.01")

    def taxed(amount: Decimal | None) -> Decimal | None:
        return None if amount is None else (amount * (1 + tax_pct / 100)).quantize(cent)

    limits = replace(job.limits, budget=taxed(job.limits.budget))
    return replace(job, limits=limits, tiers=tuple(map(taxed, job.tiers)), tax="included")
