"""What every face shows: verdicts, checks, fits, packages, tiers, trade-offs, clashes.

An answer is data. Its sentences are made from it by `matcher.explain.wording`, nowhere else.
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
    """What every answer can turn into."""

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
    """What there is."""
    need: Decimal | None
    """What is needed, the trade's clearances included."""
    margin: Decimal | None
    """``have`` less ``need``."""
    tol: Decimal
    """The tolerances of the figures in it, summed."""
    unit: str
    """The unit of all four."""
    missing: list[str] = field(default_factory=list)
    """Figures that are not known, as ``subject.field``."""
    says: str = ""
    """The check in a sentence."""
    source: str = ""
    """Where the rule comes from."""
    about: str = ""
    """What it is about where a rule is asked several times: the thing to reach, the feed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutNeeded(Answer):
    """The opening that a part would need."""

    w_mm: Decimal
    """Width of the opening after cutting."""
    h_mm: Decimal
    """Height of the opening after cutting."""
    material: str | None
    """What would be cut."""


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
    """The least step of the ladder at which nothing says no; none where there is no such step."""
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
    """What to watch."""

    def rows(self) -> list[dict[str, Any]]:
        return [to_plain(check) for check in self.checks]


@dataclass(frozen=True, slots=True, kw_only=True)
class Price(Answer):
    """What a package costs, without tax."""

    parts: Decimal
    """Parts, whole packs."""
    labour: Decimal
    """Hours of fitting at the shop's rate."""
    total: Decimal
    """Both."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line(Answer):
    """One part of a package."""

    slot: str
    """What it fills."""
    opening_id: str | None
    """Where it goes."""
    part_id: str | None
    """The part; none where the original stays."""
    qty: int
    """Packs to order."""
    adapter_id: str | None = None
    """The adapter it is mounted with."""
    pieces: int = 0
    """Pieces used of those packs."""
    adapter_qty: int = 0
    """Packs of the adapter to order."""
    alteration: str = "bolt_in"
    """The step of the ladder it takes."""
    cut: CutNeeded | None = None
    """The cut it takes."""
    price: Decimal = Decimal(0)
    """Parts and labor of the line."""
    label: str = ""
    """Maker and model."""
    level_db: Decimal | None = None
    """Level a loudspeaker reaches on its feed, at 1 m."""
    low_hz: Decimal | None = None
    """Lower end of a loudspeaker's range."""
    screen_in: Decimal | None = None
    """Diagonal of a head unit's screen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link(Answer):
    """One feed: channels of an amplifier to loudspeakers."""

    from_: str
    """The part that feeds."""
    to: list[str]
    """The openings fed."""
    channels: str
    """The channels used and how."""
    load_ohm: Decimal | None
    """Load on each channel, or on each bridged pair."""
    power_w: Decimal | None
    """Power for each loudspeaker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bass(Answer):
    """The bass side of a package."""

    drivers: int
    net: str
    load_ohm: Decimal | None
    box_net_l: Decimal | None
    qtc: float | None
    fc_hz: float | None
    f3_hz: float | None
    max_db_40hz: float | None
    ruled_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply(Answer):
    """What a package asks of the vehicle's supply."""

    full_a: Decimal | None
    music_a: Decimal | None
    spare_a: Decimal | None
    cable_mm2: Decimal | None
    fuse_a: Decimal | None
    standby_ma: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs(Answer):
    """What a trade-off would take."""

    alteration: str
    """The step of the ladder."""
    cut: CutNeeded | None
    """The cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff(Answer):
    """What the limits give up at an opening, against the best that any alteration would allow."""

    opening_id: str
    """Where."""
    chosen: str | None
    """The part in the package."""
    instead: str
    """The part that would go there otherwise."""
    needs: Needs
    """What that would take."""
    gains_db: Decimal | None
    """Louder by so much at the power each would get."""
    gains_hz: Decimal | None
    """Reaching lower by so much."""
    price: Decimal | None
    """Dearer by so much."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo(Answer):
    """How one step is undone."""

    step: str
    """What was done."""
    undo: str
    """How it goes back."""
    keeps: str = ""
    """What is kept, and where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Package(Answer):
    """A full set of parts, with everything that speaks for and against it."""

    rank: int
    score: int
    verdict: Verdict
    alteration: str
    reversible: bool
    price: Price
    criteria: dict[str, int]
    lines: list[Line]
    links: list[Link]
    bass: Bass | None
    supply: Supply | None
    checks: list[Check]
    tradeoffs: list[TradeOff]
    measure: list[str]
    undo: list[Undo]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain(Answer):
    """One thing that a step up in budget buys, or costs."""

    criterion: str
    """What changes."""
    where: str
    """The opening, or the whole."""
    before: Decimal | None
    """As it is in the tier below."""
    after: Decimal | None
    """As it is in this tier."""
    unit: str
    """The unit of both."""
    says: str = ""
    """The change in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tier(Answer):
    """A package at a budget."""

    name: str
    budget: Decimal | None
    rank: int | None
    package: Package | None
    gains: list[Gain]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash(Answer):
    """Limits that cannot hold together."""

    limits: list[str]
    """The limits, each by name and value."""
    says: str = ""
    """The clash in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotCount(Answer):
    """How a slot's candidates fared."""

    slot: str
    opening_id: str | None
    fits: int
    measure: int
    no: int
    by_rule: dict[str, int]
    """Parts refused at the opening as found, without an adapter, by rule."""
    reasons: list[str] = field(default_factory=list)
    """The same in sentences, each with its nearest miss."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options(Answer):
    """The ranked packages of a job."""

    job_id: str
    catalog_version: int
    considered: int
    complete: bool
    seconds: float
    packages: list[Package]
    tiers: list[Tier]
    clash: list[Clash]
    slots: list[SlotCount] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)

    def rows(self) -> list[dict[str, Any]]:
        return [
            {
                "rank": package.rank,
                "score": package.score,
                "verdict": package.verdict,
                "alteration": package.alteration,
                "total": plain_number(package.price.total),
                "lines": "; ".join(line.label for line in package.lines),
            }
            for package in self.packages
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing(Answer):
    """What the store holds, as a document and as rows."""

    document: dict[str, Any]
    """All of it, as data."""
    heads: list[str]
    """The columns of its table."""
    cells: list[list[str]]
    """The rows of its table."""

    def to_dict(self) -> dict[str, Any]:
        plain: dict[str, Any] = to_plain(self.document)
        return plain

    def rows(self) -> list[dict[str, Any]]:
        return [dict(zip(self.heads, row, strict=True)) for row in self.cells]

    def table(self) -> tuple[list[str], list[list[str]]]:
        """Heads and rows for the terminal."""
        return self.heads, self.cells
