"""Verdicts, checks and fits: the elements of an answer.

An answer is data. Only `matcher.answers.messages` turns it into sentences.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, is_dataclass
from decimal import Decimal
from typing import Any, ClassVar, Literal

from catalog_schema.problems import Problem

Verdict = Literal["fits", "no", "measure"]

VERDICT_ORDER: dict[str, int] = {"no": 0, "measure": 1, "fits": 2}
"""Worst first: a fit is as good as its worst check."""


def verdict_of(margin: Decimal | None, tol: Decimal) -> Verdict:
    """Return the verdict of a margin and its tolerance.

    >>> verdict_of(Decimal("1.5"), Decimal("1.5")), verdict_of(Decimal("-1.5"), Decimal("1.5"))
    ('fits', 'measure')
    >>> verdict_of(Decimal("-1.6"), Decimal("1.5")), verdict_of(None, Decimal(0))
    ('no', 'measure')
    """
    if margin is None:
        return "measure"
    if margin >= tol:
        return "fits"
    return "no" if margin < -tol else "measure"


def worst(verdicts: list[Verdict]) -> Verdict:
    """Return the worst of some verdicts; ``fits`` if there are none."""
    return min(verdicts, key=VERDICT_ORDER.__getitem__, default="fits")


PLAIN = (str, int, float, type(None))
"""Values that are plain data as they are."""
NAMES: dict[type, tuple[tuple[str, str], ...]] = {}
"""Fields of each class of answers, each with its key in plain data."""


class Answer:
    """Conversion of every answer to plain data."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, Any]] = {"extra": "forbid", "use_attribute_docstrings": True}

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, as printed by ``--json``."""
        plain: dict[str, Any] = to_plain(self)
        return plain


def to_plain(value: Any) -> Any:
    """Convert an answer to lists, dicts, text and numbers."""
    if isinstance(value, PLAIN):
        return value
    if names := _names(type(value)):
        return {key: to_plain(getattr(value, name)) for name, key in names}
    if isinstance(value, dict):
        return {key: to_plain(item) for key, item in value.items()}
    if isinstance(value, Problem):
        return to_plain(value._asdict())
    if isinstance(value, list | tuple):
        return [to_plain(item) for item in value]
    if isinstance(value, Decimal):
        return plain_number(value)
    return value


def _names(kind: Any) -> tuple[tuple[str, str], ...]:
    """Return the fields of a class of answers, each with its key; empty for any other class."""
    if kind not in NAMES:
        NAMES[kind] = tuple((one.name, one.name.rstrip("_")) for one in fields(kind)) if is_dataclass(kind) else ()
    return NAMES[kind]


def plain_number(number: Decimal) -> int | float:
    """Return a whole number as an integer, any other as the nearest float, which prints the same digits."""
    return int(number) if number == number.to_integral_value() else float(number)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check(Answer):
    """A rule applied: the available and the required value, and the verdict."""

    rule: str
    """The rule's name."""
    verdict: Verdict
    """``fits`` if the margin covers the tolerance, ``no`` if it misses by more, else ``measure``."""
    have: Decimal | None
    """Available value."""
    need: Decimal | None
    """Required value, including clearances."""
    margin: Decimal | None
    """``have`` minus ``need``."""
    tol: Decimal
    """Sum of the tolerances of its figures."""
    unit: str
    """The unit of all four."""
    missing: list[str] = field(default_factory=list)
    """Unknown figures, as ``subject.field``."""
    loose: list[str] = field(default_factory=list)
    """Figures whose tolerance leaves it open, the widest first: more precise readings would decide it."""
    fits_from: Decimal | None = None
    """If one figure is missing: its smallest exact value that would fit."""
    fits_up_to: Decimal | None = None
    """If one figure is missing: its largest exact value that would fit."""
    evidence: str = ""
    """Evidence that settles an open check: where, when and by whom the same part was fitted before."""
    says: str = ""
    """The check in a sentence."""
    source: str = ""
    """Source of the rule."""
    about: str = ""
    """Subject of a rule that is evaluated several times: the thing to reach, the feed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutNeeded(Answer):
    """The enlarged opening that a part requires."""

    w_mm: Decimal
    """Width of the opening after cutting."""
    h_mm: Decimal
    """Height of the opening after cutting."""
    material: str | None
    """Material to be cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim(Answer):
    """A physically doubtful claim of a maker, and the value used in its place."""

    part_id: str
    """The part."""
    figure: str
    """The field of the claim."""
    claimed: Decimal
    """The claimed value."""
    counted: Decimal | None
    """The value used; None if unknown until the amplifier's own fuse is read."""
    unit: str
    """The unit of both."""
    why: str
    """The bound: ``supply`` (own fuses or stated current), ``rail`` (a head unit's supply voltage), ``current`` (too
    little for the power that counts), ``at odds`` (power and current contradict each other)."""
    says: str = ""
    """The claim in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit(Answer):
    """One part at one opening."""

    part_id: str
    """The part."""
    opening: str
    """The opening, as ``vehicle/opening``."""
    verdict: Verdict
    """The worst check's verdict, at the requested step."""
    alteration: str | None
    """The first step of the ladder at which no check fails; None if there is none."""
    adapter_id: str | None
    """The adapter between them."""
    cut: CutNeeded | None
    """The cut at that step."""
    checks: list[Check]
    """Every rule that applies."""
    asked: str = "bolt_on"
    """The step of the verdict."""
    turned: bool = False
    """Whether the part is mounted a quarter turn from upright."""
    readings: list[str] = field(default_factory=list)
    """Its measured figures, next to the claimed ones."""
    cautions: list[str] = field(default_factory=list)
    """Cautions."""
    claims: list[Claim] = field(default_factory=list)
    """Figures of the part that are not counted as its maker states them."""
    without: Fit | None = None
    """If the adapter was found in the catalog: the fit of the same part without it."""
    adapters_tried: int | None = None
    """Number of catalog adapters tried; None if none was needed."""
