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
    """A cell as written, to be parsed by the field of its family."""

    def read_filled(self, cell: object, notation: Notation) -> object:
        return tuple(cell) if isinstance(cell, list) else cell

    def expects(self) -> str:
        return "a figure of its family"

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["string", "number", "boolean", "array", "null"]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Without:
    """Exclusions from every package, by name: parts, makers and suppliers."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    parts: Names = ()
    """Parts, by their part_id."""
    makers: Names = ()
    """Makers, in any case."""
    suppliers: Names = ()
    """Suppliers, by the name of their lists."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnedPart:
    """A part that the customer owns: it costs only labor, and only in this job."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    part_id: Id
    """Its name in the catalog, or a name of its own if its figures are entered here."""
    family: Label = None
    """Its family, if its figures are entered here."""
    maker: Label = None
    """Its maker."""
    model: Label = None
    """Its model, in the maker's words."""
    opening_id: Label = None
    """Its opening, required for loudspeakers."""
    pieces: Annotated[int | None, CountKind(least=1, most=8)] = None
    """Number of pieces that the customer has; by default two loudspeakers, one of anything else."""
    condition: Label = None
    """Its condition when received."""
    figures: dict[str, Annotated[object, CellKind()]] = field(default_factory=dict)
    """Figures by field name of its family."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits set by the customer: maxima and requirements."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    alteration: Step = DEFAULT_STEP
    """The highest step of the alteration ladder anywhere in the car."""
    per_opening: dict[str, Step] = field(default_factory=dict)
    """A separate step for an opening."""
    budget: Money = None
    """Maximum price of the whole, parts and labor."""
    screen_min_in: Inches = None
    """Minimum screen diagonal."""
    must: Words = ()
    """Required features of the head unit."""
    at_rest_ma: Milliamps = None
    """Maximum standby drain."""
    without: Without = field(default_factory=Without)
    """Excluded parts, makers and suppliers."""
    deliver_within_days: Days = None
    """Maximum days until every part has arrived; parts in stock take none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """Weight of each wish, 0 (none) to 5 (highest)."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    loudness: Wish = 3
    """Loud and clear sound in the cabin."""
    bass: Wish = 3
    """Deep bass."""
    screen: Wish = 3
    """A large screen."""
    original_look: Wish = 3
    """The original look of the car."""
    price: Wish = 3
    """A low price."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One customer's car and wishes."""

    __pydantic_config__: ClassVar[dict[str, Any]] = STRICT

    job_id: Id
    """Its short name."""
    vehicle_id: Id
    """Its vehicle."""
    label: Label = None
    """Name at the counter."""
    limits: Limits = field(default_factory=Limits)
    """Limits: maxima and requirements."""
    choose: Names = ()
    """Slots to fill: openings by name, or head_unit, bass, film, security."""
    keep: Names = ()
    """Openings that keep their original."""
    pin: dict[str, PinnedPart] = field(default_factory=dict)
    """The required part of an opening or a slot: head_unit, bass, amplifier, cable, film or security."""
    owned: tuple[OwnedPart, ...] = ()
    """Parts that the customer owns."""
    wishes: Wishes = field(default_factory=Wishes)
    """Weight of each wish."""
    tiers: tuple[Money, ...] = ()
    """Budgets to compare."""
    tax: Annotated[str | None, ChoiceKind(TAXES)] = "included"
    """Whether its budgets include the tax."""
    security_routes: Annotated[tuple[str, ...] | None, WordsKind(ROUTES)] = ()
    """Routes of theft to be covered."""
    film_vlt_pct: Percent = None
    """Wanted light transmission of the film itself: 5 is nearly black, 70 hardly visible."""
    notes: Text = None
    """Anything else."""
    supersedes: Label = None
    """The signed-off job that this one replaces."""


def with_budgets_taxed(job: Job, tax_pct: Decimal) -> Job:
    """Return a job whose budgets include the tax, like every amount of an answer.

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
