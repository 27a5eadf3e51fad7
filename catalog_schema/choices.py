"""Records of a job: its choices, later changes, the set-up, and the log.

A choice is stored whole as plain data (`Answer.to_dict`), and read back by `catalog_schema.plain.from_plain`: it stays
as promised when the catalog changes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from catalog_schema.answers import Answer, Package, plain_number
from catalog_schema.checks import VERDICT_ORDER, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Relied(Answer):
    """A figure that a choice relied on, with its value at that time."""

    subject: str
    """Its subject: ``part:ID``, ``opening:VEHICLE/OPENING``, ``vehicle:ID``."""
    field: str
    """Its name, such as ``depth_mm``."""
    value: str
    """The figure, or the word, in the field's unit."""
    tol: Decimal | None = None
    """Its own tolerance; None if its basis sets it."""
    basis: str = ""
    """Its origin; empty if not stated."""
    measured: bool = False
    """Whether it was a reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChosen(Answer):
    """A part of a choice as it was in the catalog: the data for an order, and for its row if it goes elsewhere."""

    part_id: str
    family: str
    maker: str
    model: str
    price: Decimal
    """For each pack."""
    pack_of: int
    qty: int
    """Packs to order, for all lines together."""
    supplier: str = ""
    stock: int | None = None
    lead_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice(Answer):
    """The package chosen for a job."""

    job_id: str
    vehicle_id: str
    number: int
    """Number of the choice within this job, from 1; the last one counts."""
    rank: int
    """The package's place in the ranking when it was chosen."""
    catalog_version: int
    chosen_at: str
    """Time in ISO 8601 with its offset."""
    by: str
    note: str | None
    currency: str
    package: Package
    """The complete answer: lines, prices, points, checks, trade-offs, and steps to undo it."""
    ahead: list[list[str]]
    """The packages that ranked above it, each as its parts by place."""
    parts: list[PartChosen]
    """Parts to order, including adapters."""
    figures: list[Relied]
    """Every known figure of its parts, openings and vehicle."""
    cautions: list[str] = field(default_factory=list)
    terms: dict[str, Any] = field(default_factory=dict)
    """The terms used for this choice only, in place of the job's own."""


ChangeKind = Literal["price", "withdrawn", "figure", "reading", "breaks", "clears", "opens", "limits", "lost", "better"]
"""Kinds of change: a price; a withdrawn part; a claim or a measured figure; a check that now fails, now fits, or must
now be measured; the job's own limits; the package cannot be assembled any more; there is a better one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceChange(Answer):
    """One difference from when the package was chosen."""

    what: ChangeKind
    subject: str
    """Its subject: ``part:ID``, ``opening:VEHICLE/OPENING``, ``vehicle:ID``, ``job:ID``; of a check, its subject."""
    name: str
    """The field or the rule."""
    before: str | None
    after: str | None
    unit: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceChanges(Answer):
    """Changes since a package was chosen, with every part, link and rule evaluated again."""

    job_id: str
    number: int
    catalog_then: int
    catalog_now: int
    total_then: Decimal
    total_now: Decimal | None
    """At today's catalog prices; None if the package cannot be assembled any more."""
    verdict_then: Verdict
    verdict_now: Verdict
    changes: list[ChoiceChange]
    package: Package | None
    """The chosen package as it is now; None if it cannot be assembled any more."""
    better: Package | None = None
    """The best package that now ranks above it."""

    @property
    def stands(self) -> bool:
        """Return whether it is no worse than when it was chosen, with all of its parts in the catalog."""
        no_worse = VERDICT_ORDER[self.verdict_now] >= VERDICT_ORDER[self.verdict_then]
        return no_worse and not any(one.what in ("withdrawn", "lost") for one in self.changes)

    def to_dict(self) -> dict[str, Any]:
        return {**Answer.to_dict(self), "stands": self.stands}


@dataclass(frozen=True, slots=True, kw_only=True)
class OutputStep(Answer):
    """A step of the head unit's volume: the measured voltage, and whether the wave was clean."""

    step: Decimal
    volts: Decimal | None
    clean: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneTarget(Answer):
    """The voltage for a gain setting with a tone of this level."""

    tone_db: Decimal
    """Level of the recorded sine relative to full scale."""
    no_overlap_v: Decimal | None
    """Target at which a full-scale recording just reaches the power."""
    overlap_v: Decimal | None
    """Target with as much overlap as the tone is below full scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GainTarget(Answer):
    """A feed to set: its target, and its reading."""

    opening_id: str
    source: str
    """The part that feeds it."""
    channels: str
    load_ohm: Decimal | None
    power_w: Decimal | None
    """Per loudspeaker: the amplifier's power, or the loudspeaker's rating if that is lower."""
    target_v: Decimal | None
    """At the amplifier's terminals, with a full-scale sine."""
    tones: list[ToneTarget] = field(default_factory=list)
    read_v: Decimal | None = None
    tone_db: Decimal | None = None
    """Level of the tone used for the reading."""
    verdict: Verdict = "measure"
    """``no`` if it exceeds its target with overlap; ``measure`` if it was not read."""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimMet(Answer):
    """A claim next to the value measured at set-up."""

    subject: str
    field: str
    unit: str
    claimed: Decimal | None
    measured: Decimal
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupValue(Answer):
    """One value measured at set-up, stored as a reading of the job."""

    field: str
    """As in ``gain_v.dash-top``."""
    value: str
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupCheck(Answer):
    """A value checked against its target: standby drain, polarity, the input's range."""

    name: str
    about: str
    verdict: Verdict
    have: str | None
    need: str | None
    unit: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup(Answer):
    """Set-up of a job: values to measure and measured values."""

    job_id: str
    choice: int | None
    """Number of the choice; None if no package was chosen yet."""
    number: int | None
    """Number of the set-up within this job, from 1; None if nothing was measured."""
    set_up_at: str | None
    by: str | None
    note: str | None
    source: str | None
    """The log's file."""
    output: list[OutputStep]
    last_clean_step: Decimal | None
    first_clipped_step: Decimal | None
    clean_v: Decimal | None
    """The highest clean output voltage of the head unit."""
    doubtful: list[Decimal]
    """Volume steps recorded as clean above a clipped one."""
    gains: list[GainTarget]
    claims: list[ClaimMet]
    checks: list[SetupCheck]
    values: list[SetupValue]
    """Measured value, as recorded."""
    replaced: list[str]
    """Claims of the catalog replaced by a reading, as ``part:ID.field``."""
    to_measure: list[str]
    """Values still to be measured."""
    verdict: Verdict
    """The worst of the checks and gains; ``measure`` if a value is missing."""
    cautions: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry(Answer):
    """One change of the store."""

    at: str
    by: str
    what: str
    """The operation: ``catalog load``, ``reading``, ``choose``, ..."""
    subject: str
    """Subject of the change: ``catalog``, ``job:ID``, ``part:ID``, ``setting:NAME``, ..."""
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLog(Answer):
    """Log of changes, each with its author and time, oldest first."""

    entries: list[LogEntry]


OpenKind = Literal["nothing chosen", "withdrawn", "lost", "breaks", "figure", "set-up"]
"""Kinds of open point: no package chosen; a part withdrawn; the package cannot be assembled; a rule fails; a figure is
to be measured; a value of the set-up is missing, or is off its target."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPoint(Answer):
    """One open point of a job to be ordered or signed off."""

    what: OpenKind
    subject: str
    """The figure, the part, the rule, or the value of the set-up."""
    says: str
    """The open point and how to close it, in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WentOn(Answer):
    """An order or a signature given despite open points, as logged."""

    what: str
    """``order`` or ``sign``."""
    at: str
    by: str
    note: str
    """The stated reason."""
    points: list[OpenPoint]
    """The points that were open."""


Cell = str | int | Decimal | date | None
"""Content of a spreadsheet's cell: a text, a number, a day, or nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet(Answer):
    """A table for a spreadsheet: its name, columns and rows."""

    name: str
    heads: list[str]
    cells: list[list[Cell]]

    def rows(self) -> list[dict[str, Any]]:
        plain = ([plain_number(cell) if isinstance(cell, Decimal) else cell for cell in row] for row in self.cells)
        return [dict(zip(self.heads, row, strict=True)) for row in plain]

    def table(self) -> tuple[list[str], list[list[str]]]:
        """Return the columns and rows for the terminal."""
        return self.heads, [["" if cell is None else str(cell) for cell in row] for row in self.cells]
