"""Verdicts, checks and fits: what the answer to one question about one part is made of.

An answer is data. Its sentences are made from it by `matcher.answers.messages`, nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, is_dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, ClassVar, Literal

if TYPE_CHECKING:
    import pandas as pd

Verdict = Literal["fits", "no", "measure"]

VERDICT_ORDER: dict[str, int] = {"no": 0, "measure": 1, "fits": 2}
"""Worst first: a fit is as good as its worst check."""


def verdict_of(margin: Decimal | None, tol: Decimal) -> Verdict:
    """The verdict that a margin and the tolerances in it give.

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
    """The worst of some verdicts; of none at all it is ``fits``."""
    return min(verdicts, key=VERDICT_ORDER.__getitem__, default="fits")


class Answer:
    """Conversion of every answer to plain data."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, Any]] = {"extra": "forbid", "use_attribute_docstrings": True}

    def to_dict(self) -> dict[str, Any]:
        """Plain data, as ``--json`` prints it."""
        plain: dict[str, Any] = to_plain(self)
        return plain

    def rows(self) -> list[dict[str, Any]]:
        """The answer's rows, as a table shows them."""
        raise NotImplementedError

    def to_frame(self) -> pd.DataFrame:
        """The answer's rows as a pandas frame; pandas is imported only now."""
        import pandas as pd

        return pd.DataFrame(self.rows())


def to_plain(value: Any) -> Any:
    """An answer as lists, dicts, text and numbers."""
    if is_dataclass(value) and not isinstance(value, type):
        return {part.name.rstrip("_"): to_plain(getattr(value, part.name)) for part in fields(value)}
    if isinstance(value, dict):
        return {key: to_plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [to_plain(item) for item in value]
    if isinstance(value, Decimal):
        return plain_number(value)
    return value


def plain_number(number: Decimal) -> int | float:
    """A whole number as an integer, any other as the nearest float, which prints as it was."""
    return int(number) if number == number.to_integral_value() else float(number)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check(Answer):
    """A rule applied: what there is, what is needed, and what that means."""

    rule: str
    """The rule's name."""
    verdict: Verdict
    """``fits`` where the margin covers the tolerance, ``no`` where it misses by more, else ``measure``."""
    have: Decimal | None
    """Value there is."""
    need: Decimal | None
    """Value needed, the trade's clearances included."""
    margin: Decimal | None
    """``have`` less ``need``."""
    tol: Decimal
    """The tolerances of the figures in it, summed."""
    unit: str
    """The unit of all four."""
    missing: list[str] = field(default_factory=list)
    """Figures that are not known, as ``subject.field``."""
    loose: list[str] = field(default_factory=list)
    """Figures whose tolerance leaves it open, the widest first: taken more closely, they would decide."""
    fits_from: Decimal | None = None
    """Where one figure is missing: the least value, exactly known, with which it would fit."""
    fits_up_to: Decimal | None = None
    """Where one figure is missing: the greatest value, exactly known, with which it would fit."""
    evidence: str = ""
    """Evidence that settles an open check: where, when and by whom the same was fitted before."""
    says: str = ""
    """The check in a sentence."""
    source: str = ""
    """Where the rule comes from."""
    about: str = ""
    """Subject of a rule that is evaluated several times: the thing to reach, the feed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutNeeded(Answer):
    """The opening that a part would need."""

    w_mm: Decimal
    """Width of the opening after cutting."""
    h_mm: Decimal
    """Height of the opening after cutting."""
    material: str | None
    """Material to be cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim(Answer):
    """A figure that its maker claims against physics, and what counts instead."""

    part_id: str
    """The part."""
    figure: str
    """The field that holds the claim."""
    claimed: Decimal
    """The claim."""
    counted: Decimal | None
    """The figure that counts; none if it is not known until the amplifier's own fuse is read."""
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
    """The worst check's verdict, at the step asked for."""
    alteration: str | None
    """The least step of the ladder at which nothing says no; None if there is no such step."""
    adapter_id: str | None
    """The adapter between them."""
    cut: CutNeeded | None
    """The cut that this least step would make."""
    checks: list[Check]
    """Every rule that applies."""
    asked: str = "bolt_on"
    """The step the verdict is given at."""
    turned: bool = False
    """Whether the part sits a quarter turn from upright."""
    readings: list[str] = field(default_factory=list)
    """Figures in it that were measured since, beside what was claimed."""
    cautions: list[str] = field(default_factory=list)
    """Cautions."""
    claims: list[Claim] = field(default_factory=list)
    """Figures of the part that were counted otherwise than its maker claims them."""
    without: Fit | None = None
    """If the adapter was found in the catalog: the same part without an adapter."""
    adapters_tried: int | None = None
    """Number of adapters of the catalog that were tried; None if none had to be."""

    def rows(self) -> list[dict[str, Any]]:
        return [to_plain(check) for check in self.checks]
