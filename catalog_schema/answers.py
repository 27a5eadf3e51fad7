"""Answers as data: packages, tiers, trade-offs; `matcher.answers.messages` makes the sentences."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from itertools import chain
from typing import Any

from catalog_schema.checks import VERDICT_ORDER as VERDICT_ORDER
from catalog_schema.checks import Answer as Answer
from catalog_schema.checks import Check as Check
from catalog_schema.checks import Claim as Claim
from catalog_schema.checks import CutNeeded as CutNeeded
from catalog_schema.checks import Fit as Fit
from catalog_schema.checks import Verdict as Verdict
from catalog_schema.checks import plain_number as plain_number
from catalog_schema.checks import to_plain as to_plain
from catalog_schema.checks import verdict_of as verdict_of
from catalog_schema.checks import worst as worst
from catalog_schema.wiring import Filter as Filter
from catalog_schema.wiring import KitLine as KitLine
from catalog_schema.wiring import Lead as Lead
from catalog_schema.wiring import Link as Link
from catalog_schema.wiring import Supply as Supply


@dataclass(frozen=True, slots=True, kw_only=True)
class Price(Answer):
    """Price of a package for the customer, with tax."""

    parts: Decimal
    """Parts, whole packs."""
    labour: Decimal
    """Hours of fitting at the shop's rate."""
    total: Decimal
    """All of it, with the kit."""
    kit: Decimal = Decimal(0)
    """Price of the kit: fuses, wire, terminals. Items in no list count with an estimate."""
    from_: bool = False
    """Whether an item of the kit is in no list: its price is open, and the total may be higher."""
    currency: str = ""
    """Empty if the shop has not set its own."""
    tax_pct: Decimal = Decimal(0)
    """The tax included in every amount; 0 if the shop has set none."""
    labour_open: list[str] = field(default_factory=list)
    """Parts with unknown labor hours: labor and total count 0 for them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line(Answer):
    """One part of a package."""

    slot: str
    """Slot that it fills."""
    opening_id: str | None
    """The opening it is mounted in."""
    part_id: str | None
    """The part; None if the original stays."""
    qty: int
    """Packs to order."""
    adapter_id: str | None = None
    """The adapter it is mounted with."""
    pieces: int = 0
    """Pieces used of those packs."""
    adapter_qty: int = 0
    """Packs of the adapter to order."""
    alteration: str = "bolt_in"
    """The step of the ladder it requires."""
    cut: CutNeeded | None = None
    """The cut it requires."""
    price: Decimal = Decimal(0)
    """Parts and labor of the line."""
    label: str = ""
    """Maker and model."""
    is_owned: bool = False
    """Whether the customer owns it: it is not ordered, and costs only labor."""
    level_db: Decimal | None = None
    """Level a loudspeaker reaches on its feed, at 1 m."""
    low_hz: Decimal | None = None
    """Lower end of a loudspeaker's range."""
    screen_in: Decimal | None = None
    """Diagonal of a head unit's screen."""
    covers: list[str] = field(default_factory=list)
    """The panes of a film, or the wanted routes of theft that a layer covers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxSize(Answer):
    """Outer dimensions of a made-to-measure box, and its empty weight."""

    w_mm: Decimal
    h_mm: Decimal
    d_mm: Decimal
    """Depth at the floor."""
    d_top_mm: Decimal
    """Depth at the top."""
    mass_kg: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxPanel(Answer):
    """One line of the cut list of a made-to-measure box."""

    panel: str
    count: int
    length_mm: float
    width_mm: float
    width_top_mm: float | None = None
    """Width at the other end, if different."""
    bevel_deg: float = 0.0
    """Angle of the edges that meet the sloped back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BassLevel(Answer):
    """The maximum level of a bass system at one frequency."""

    hz: float
    level_db: float
    """At 1 m in half space."""
    ruled_by: str
    """The limiting factor: power, excursion, or air speed in the port."""


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
    mean_db: float | None
    """Maximum level at 1 m in half space, averaged over the frequencies at which bass is rated."""
    spread_db: float | None
    """Difference between the quietest and the loudest of them."""
    levels: list[BassLevel] = field(default_factory=list)
    """Maximum level at each of them."""
    kind: str | None = None
    """Sealed or vented."""
    tuned_hz: Decimal | None = None
    """Tuning of a vented box."""
    peak_db: float | None = None
    """Peak of its response relative to the level at high frequencies."""
    peak_most_db: float | None = None
    """The same with the smallest losses that such boxes have."""
    high_pass_hz: Decimal | None = None
    """The high-pass that a vented box needs: below it the cone is unloaded."""
    estimated: list[str] = field(default_factory=list)
    """Figures of the driver that no list states, estimated from its size; ``port_mm`` of the box, from its volume."""
    notes: list[str] = field(default_factory=list)
    """Notes to read before it is built."""
    outer: BoxSize | None = None
    """Only for a made-to-measure box, not for one from the catalog."""
    panels: list[BoxPanel] = field(default_factory=list)
    """Its cut list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs(Answer):
    """Alteration that a trade-off requires."""

    alteration: str
    """The step of the ladder."""
    cut: CutNeeded | None
    """The cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOff(Answer):
    """Loss caused by the limits at an opening, compared with the best part at any alteration."""

    opening_id: str
    """The opening."""
    chosen: str | None
    """The part in the package."""
    instead: str
    """The part that would be there otherwise."""
    needs: Needs
    """Alteration that it requires."""
    gains_db: Decimal | None
    """Gain in level at the power each would get."""
    gains_hz: Decimal | None
    """Decrease of the lower end of the range."""
    price: Decimal | None
    """Increase in price."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo(Answer):
    """Step to undo an alteration."""

    step: str
    """The alteration."""
    undo: str
    """Work that undoes it."""
    keeps: str = ""
    """Parts to keep, and where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing(Answer):
    """Combined level of all chosen loudspeakers at 1 m, and its safe listening time."""

    level_db: Decimal | None
    """The level at the maximum power of each."""
    niosh_min: Decimal | None
    """Minutes a day by NIOSH; None outside the range of the rule."""
    osha_min: Decimal | None
    """Minutes a day by OSHA."""
    week_min: Decimal | None
    """Minutes a week by the WHO and ITU."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative(Answer):
    """A package with the same head unit, loudspeakers, bass and amplifiers as another one."""

    score: int
    price: Price
    lines: list[Line]
    """The lines that the other package lacks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Package(Answer):
    """A full set of parts with all of its checks and prices."""

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
    hearing: Hearing | None = None
    """Loudness and safe listening time."""
    filters: list[Filter] = field(default_factory=list)
    """The filters, one per channel group."""

    def filter_of(self, opening_id: str) -> Filter | None:
        """Return the filter of the channels that feed an opening."""
        return next((one for one in self.filters if opening_id in one.to), None)

    def bought(self) -> dict[str, int]:
        """Return the packs to order by part, including adapters and kit."""
        packs: dict[str, int] = {}
        lines = (((one.part_id, one.qty), (one.adapter_id, one.adapter_qty)) for one in self.lines)
        for part_id, count in (*chain.from_iterable(lines), *((item.part_id, item.packs) for item in self.kit)):
            if part_id is not None:
                packs[part_id] = packs.get(part_id, 0) + count
        return {part_id: count for part_id, count in packs.items() if count}

    def lead_of(self, part_id: str | None) -> Lead | None:
        """Return the supply cable of an amplifier."""
        leads = [] if self.supply is None else self.supply.leads
        return next((one for one in leads if one.part_id == part_id), None)

    kit: list[KitLine] = field(default_factory=list)
    """The kit: all other items that the van has to carry."""
    notes: list[str] = field(default_factory=list)
    """Notes on its parts: a long wait, copper-clad aluminum, a dynamo at idle."""
    claims: list[Claim] = field(default_factory=list)
    """Figures of its parts that are not counted as their makers state them."""
    id: str = ""
    """Identifier of the package, from its parts and their feeds."""
    differs: list[Line] = field(default_factory=list)
    """Its lines that the first package lacks."""
    alternatives: list[Alternative] = field(default_factory=list)
    """The same main goods with another adapter, cable or bracket."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepGain(Answer):
    """One gain or loss of a step up in budget."""

    criterion: str
    """The change."""
    where: str
    """The opening, or the whole."""
    before: Decimal | None
    """Value in the tier below."""
    after: Decimal | None
    """Value in this tier."""
    unit: str
    """The unit of both."""
    says: str = ""
    """The change in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tier(Answer):
    """A package at a budget; `says` is its main goods, its gains over the tier below, or why it is empty."""

    name: str
    budget: Decimal | None
    rank: int | None
    package: Package | None
    gains: list[StepGain]
    least: Decimal | None = None
    """Total of the cheapest package that meets every limit, if the tier has none."""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict(Answer):
    """A set of conflicting limits."""

    limits: list[str]
    """The limits by name and value."""
    says: str = ""
    """The conflict in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotCount(Answer):
    """Rejections of a slot's candidates."""

    slot: str
    opening_id: str | None
    fits: int
    measure: int
    no: int
    by_rule: dict[str, int]
    """Number of parts refused at the opening as it is, without an adapter, by rule; for the head unit and the
    loudspeakers none if packages were found."""
    reasons: list[str] = field(default_factory=list)
    """The same in sentences, each with its nearest miss."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsAt(Answer):
    """The best parts for an opening: each with its line, and the score and price of the best package with it."""

    opening_id: str
    best: list[Alternative]


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
    conflicts: list[Conflict]
    slots: list[SlotCount] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    alternatives: list[PartsAt] = field(default_factory=list)
    """The best parts for each opening, if requested."""
    missed_score_at_most: int | None = None
    """Upper bound of the score of packages missing from the answer, if the search was stopped early.

    None if it stopped before all candidates were read: the bound is then unknown.
    """


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDocument(Answer):
    """A vehicle or a job of the store, as a document and as rows."""

    document: dict[str, Any]
    """All of it as data."""
    heads: list[str]
    """The columns of its table."""
    cells: list[list[str]]
    """The rows of its table."""

    def to_dict(self) -> dict[str, Any]:
        plain: dict[str, Any] = to_plain(self.document)
        return plain

    def table(self) -> tuple[list[str], list[list[str]]]:
        """Return the columns and rows for the terminal."""
        return self.heads, self.cells
