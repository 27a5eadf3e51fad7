"""Why an answer is as it is: what conflicts, what would help, what a limit costs, what to measure first."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from catalog_schema.answers import Conflict, Line, Price, SlotCount, StepGain
from catalog_schema.checks import Answer, CutNeeded, Fit, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief(Answer):
    """A package in short."""

    score: int
    """Its points."""
    verdict: Verdict
    """``measure`` where something of it is still to be measured."""
    alteration: str
    """The highest step of the ladder in it."""
    price: Price
    """Its price."""
    criteria: dict[str, int]
    """Its points by criterion."""
    lines: list[Line]
    """Its parts."""
    bass_mean_db: Decimal | None = None
    """Greatest level of its bass at 1 m in half space, the mean over the frequencies at which bass is judged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap(Answer):
    """One place at which two packages have other parts."""

    slot: str
    """Slot."""
    opening_id: str | None
    """Where."""
    before: str | None
    """Content of the slot in the first package; None if it is empty."""
    after: str | None
    """Content of the slot in the second."""
    alteration: str | None
    """The step of the ladder that the second takes there."""
    cut: CutNeeded | None
    """The cut that it takes there."""
    says: str = ""
    """The swap in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference(Answer):
    """Changes from one package to another."""

    points: int
    """Points that the second has more."""
    price: Decimal
    """Price difference of the second."""
    criteria: dict[str, int]
    """Points more by criterion, if there is a difference."""
    swaps: list[Swap]
    """The parts that change."""
    gains: list[StepGain]
    """Differences that are heard, seen and paid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WithoutLimit(Answer):
    """Best package if one limit of a conflict is lifted."""

    limit: str
    """The limit, by name and value."""
    package: Brief
    """A package that holds all others of the conflict."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedConflict(Conflict):
    """A conflict with its proof: without any one of its limits there is a package."""

    without: list[WithoutLimit] = field(default_factory=list)
    """For each limit of it a package that was found without that limit."""
    checks: str = ""
    """The check and its result, in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitChange(Answer):
    """A limit that gives, and by how much."""

    limit: str
    """Its name: ``budget``, ``per_opening.door``, ``must.dab``, ..."""
    before: str
    """Value before."""
    after: str | None
    """New value; None if the limit is dropped."""
    says: str = ""
    """The change in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation(Answer):
    """A smallest relaxation: limits that give no more than they have to, and the best package then."""

    changes: list[LimitChange]
    """The limits that give."""
    package: Brief
    """The best package of the job so changed."""
    says: str = ""
    """The relaxation in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Near(Answer):
    """Closeness of the best package to a limit."""

    rule: str
    """The rule that says so."""
    have: Decimal
    """Amount allowed, or available."""
    need: Decimal
    """Amount that the package uses."""
    spare: Decimal
    """Amount that remains."""
    unit: str
    """The unit of all three."""
    says: str = ""
    """The same in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartReason(Answer):
    """Why a part is not in the best package."""

    part_id: str
    """The part."""
    family: str
    """Its kind."""
    label: str
    """Maker and model."""
    reason: str
    """``in``: it is in; ``loses``: others earn more; ``limits``: limits keep it out; ``no_feed``: no package can hold
    it, whatever is lifted; ``no_fit``: it goes in nowhere; ``not_asked``: the job does not ask for its kind."""
    says: str = ""
    """The reason in a sentence."""
    fits: list[Fit] = field(default_factory=list)
    """The part by itself at each opening of the job that takes its kind."""
    limits: list[Conflict] = field(default_factory=list)
    """The limits that keep it out: of each set one at least would have to give."""
    package: Brief | None = None
    """The best package that holds it."""
    difference: Difference | None = None
    """Changes from the best package to that one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Why(Answer):
    """Why a job has no package, or what nearly limits it; why a part is not in the best one."""

    job_id: str
    catalog_version: int
    says: str
    """The outcome in a sentence."""
    best: Brief | None
    """The best package, if there is one."""
    conflicts: list[CheckedConflict] = field(default_factory=list)
    """Every smallest set of limits that cannot hold together."""
    relaxations: list[Relaxation] = field(default_factory=list)
    """The smallest changes of limits that would give a package, each ranked again."""
    near: list[Near] = field(default_factory=list)
    """Limits that nearly bind the best package, the nearest first."""
    slots: list[SlotCount] = field(default_factory=list)
    """For each slot how its parts fare, by rule, with the nearest miss."""
    part: PartReason | None = None
    """Where a part was asked about: the first reason that it is not in the best package."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitPrice(Answer):
    """Price of one limit: the best package without it."""

    limit: str
    """Its name: ``budget``, ``alteration``, ``per_opening.door``, ``keep_clear.hazard switch``, ``charging``, ..."""
    value: str
    """The limit, by name and value."""
    costs: bool
    """Whether the best package would be another one without it."""
    package: Brief | None
    """The best package without it."""
    difference: Difference | None
    """Changes from the best package within all limits to that one."""
    says: str = ""
    """The price in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beyond(Answer):
    """Winner if a wish has more weight, or less."""

    weight: int
    """The first weight at which another package wins."""
    package: Brief
    """That package, scored with that weight."""
    swaps: list[Swap]
    """The parts that change to it."""
    gains: list[StepGain]
    """Differences that are heard, seen and paid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stability(Answer):
    """Range of a weight within which the best package stays the same."""

    wish: str
    """The wish."""
    weight: int
    """Weight in the job, 0 to 5."""
    least: int
    """The least weight with which the best package stays."""
    most: int
    """The greatest weight with which the best package stays."""
    below: Beyond | None
    """Winner if it has less weight than that."""
    above: Beyond | None
    """Winner if it has more weight than that."""
    says: str = ""
    """The same in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitPrices(Answer):
    """Price of each limit of a job, each ranked again without it."""

    job_id: str
    catalog_version: int
    best: Brief | None
    """The best package within all limits."""
    limits: list[LimitPrice]
    """Each limit, the dearest first."""
    weights: list[Stability] = field(default_factory=list)
    """Where it was asked for: how far each wish may weigh otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure(Answer):
    """A figure that is open, and what wins on either side of the value that decides."""

    figure: str
    """The figure, as ``part:ID.field``, ``opening:VEHICLE/OPENING.field`` or ``vehicle:ID.field``."""
    rule: str
    """The rule that asks for it."""
    is_missing: bool
    """Whether it is not known at all; else it is known too loosely."""
    unit: str
    """Its unit."""
    fits_from: Decimal | None
    """The least value, exactly known, that is good."""
    fits_up_to: Decimal | None
    """The greatest value, exactly known, that is good."""
    within: Decimal | None
    """Of a figure that is known: the tolerance with which it would decide, if it stays what it is."""
    points: int
    """Points at stake: of the best package where it is good, less those where it is not, or those of now if less."""
    inside: Brief
    """The best package where it is good."""
    outside: Brief | None
    """The best package where it is not."""
    also: list[str]
    """Other open figures of the same subject: they were assumed to be good."""
    enter: str
    """The command that enters it."""
    says: str = ""
    """The same in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Together(Answer):
    """Gain if several figures turn out well together."""

    figures: list[str]
    """The figures."""
    package: Brief
    """The best package then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureFirst(Answer):
    """The figures to measure first: the open ones that could change the best package."""

    job_id: str
    catalog_version: int
    best: Brief | None
    """The best package of now."""
    sure: Brief | None
    """The best package about which nothing is open."""
    figures: list[Measure]
    """The figures, the most at stake first."""
    complete: bool
    """Whether no other figure can change the best package, by itself or with what else is open about the same part.

    But for what is `not_weighed`, alone or beside others of its part, and for figures that no rule asks for.
    """
    not_weighed: list[str]
    """Other open figures of these packages, for which no deciding value could be computed."""
    unmeasured: list[str] = field(default_factory=list)
    """Openings without a figure that every part there needs: figures of parts there count once it is measured."""
    most_missed: int | None = None
    """Where it was ended early: the most points that a package not looked at has once measured; none: not known."""
    together: Together | None = None
    """Gain from measuring several parts, if it exceeds that from any one of these figures."""
    says: str = ""
    """The outcome in a sentence."""
