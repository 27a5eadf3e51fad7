"""Figures of each candidate in the ranking: price, points, and electrical class."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any

from matcher.rules.rule import FITS

if TYPE_CHECKING:
    from matcher.search.catalog.kit import KitItem

Ohm = Decimal
BOUNDLESS = 10**6
"""Stands for the level that travel allows where it sets no limit, or is not known."""


@dataclass(frozen=True, slots=True)
class HeadSignature:
    """A head unit as the rest of the system sees it."""

    amp_channels: int | None
    amp_w: Decimal | None
    amp_min_ohm: Decimal | None
    preouts: int | None
    preout_v: Decimal | None
    preout_v_tol: Decimal | None = None


@dataclass(frozen=True, slots=True)
class AmplifierSignature:
    """An amplifier as the rest of the system sees it; a peak power is no power."""

    channels: int
    w_4ohm: Decimal | None
    w_2ohm: Decimal | None
    min_ohm: Decimal | None
    bridged_w_4ohm: Decimal | None
    bridged_min_ohm: Decimal | None
    input_min_v: Decimal | None
    input_max_v: Decimal | None
    high_level_in: bool | None
    bass_channels: int | None = 0
    bass_w_4ohm: Decimal | None = None
    bass_w_2ohm: Decimal | None = None
    bass_w_1ohm: Decimal | None = None
    bass_min_ohm: Decimal | None = None
    input_min_v_tol: Decimal | None = None
    input_max_v_tol: Decimal | None = None


@dataclass(frozen=True, slots=True)
class LineAid:
    """Line level that an accessory makes of a head unit's outputs: up to so many volts, set at fitting."""

    kind: str
    """``line_driver`` lifts a line output, ``line_output_converter`` makes one of loudspeaker outputs."""
    greatest_v: Decimal | None


@dataclass(frozen=True, slots=True)
class SpeakerSignature:
    """A loudspeaker as its feed sees it; that of an original may not be known."""

    impedance_ohm: Decimal | None
    coils: int
    rms_w: Decimal | None
    original: bool = False

    @property
    def is_unrated(self) -> bool:
        """Whether it is an original whose rating nobody knows: then no rule asks for it."""
        return self.original and self.rms_w is None


@dataclass(frozen=True, slots=True)
class Cost:
    """Price of a candidate: whole packs of it and of its adapter, and the labor."""

    pieces: int
    packs: int
    adapter_packs: int
    parts_cents: int
    labour_cents: int
    kit_cents: int = 0
    """The rest of its kit: fuses, wire, terminals."""

    @property
    def cents(self) -> int:
        """Parts, labor and kit together."""
        return self.parts_cents + self.labour_cents + self.kit_cents


USES = ("drain_ua", "music_ma", "room")
"""Sums limited over the whole beside money: standby drain in microamperes, charging in milliamperes, and
the room on a spot that two amplifiers share, as `rooms` counts it."""
TELLING = frozenset({"accessory", "board"})
"""Accompanying parts that make another package of the same main parts; a cable is the same at any spot."""
ROOM = 10**15
"""The limit on room, whichever the spot."""
NO_USE = (0,) * len(USES)

NO_COST = Cost(0, 0, 0, 0, 0)

Signature = HeadSignature | AmplifierSignature | SpeakerSignature | LineAid | None
"""None: no link concerns it."""


LINES = ("preouts", "preout_v", "amp_channels", "amp_w", "amp_min_ohm")
FULL = ("channels", "min_ohm", "w_4ohm", "w_2ohm", "bridged_w_4ohm", "bridged_min_ohm")
LOW = ("bass_channels", "bass_min_ohm", "bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm")
INPUTS = ("input_min_v", "input_max_v", "high_level_in")
TOLERANCES = ("preout_v_tol", "input_min_v_tol", "input_max_v_tol")


def is_incomplete(one: Signature) -> bool:
    """Whether a figure that its links depend on is not known, or not exactly."""
    match one:
        case HeadSignature():
            names: tuple[str, ...] = LINES
        case AmplifierSignature():
            names = (*INPUTS, *(FULL if one.channels != 0 else ()))
            names += LOW if one.bass_channels != 0 else ()
        case _:
            return has_unknown_load(one)
    loose = (getattr(one, name, None) for name in TOLERANCES)
    return any(getattr(one, name) is None for name in names) or any(loose)


def has_unknown_load(one: Signature) -> bool:
    """Whether it is a loudspeaker that stays, whose load nobody knows."""
    return isinstance(one, SpeakerSignature) and one.impedance_ohm is None


@dataclass(frozen=True, slots=True)
class AmplifierDraw:
    """Largest current of an amplifier, and the requirements for its cable; None if a figure is not known."""

    full_ma: int | None
    """At full sine."""
    music_ma: int | None
    fuse_a: Decimal | None = None
    copper_mm2: Decimal | None = None
    cca_mm2: Decimal | None = None
    """Least area of copper, and of copper-clad aluminum."""
    wants: tuple[str, ...] = ()
    """The fields of the amplifier that its current is wanting."""


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A part that may fill a slot, as far as it goes alone; what is not told of it is as of an original that stays.

    ``points`` are hundredths of a point, ``cents`` hundredths of the store's currency, so that
    ties are real ties.
    """

    slot: str
    opening_id: str | None = None
    part_id: str | None = None
    adapter_id: str | None = None
    step: int = 0
    code: int = FITS
    """What the rules say of it: riskier than FITS if a figure is still to be measured."""
    cost: Cost = NO_COST
    drain_ua: int = 0
    unsure_drain: bool = False
    points: tuple[tuple[str, int], ...] = ()
    signature: Signature = None
    level_cdb: int | None = None
    travel_cdb: int = BOUNDLESS
    """Level that the travel of a loudspeaker's cone allows at its high-pass."""
    low_hz: Decimal | None = None
    high_hz: Decimal | None = None
    screen_in: Decimal | None = None
    features: frozenset[str] | None = None
    draw: AmplifierDraw | None = None
    """Current of an amplifier."""
    unsure_supply: bool = False
    """Whether a figure of its supply is still to be measured."""
    quiet: Candidate | None = None
    """An amplifier of a job with bass as it is where another one plays the bass: it draws less."""
    along: tuple[Candidate, ...] = ()
    """Accompanying parts: an amplifier's cable, which follows from it; a head unit's accessories."""
    covers: tuple[str, ...] = ()
    """The panes that a film goes on, the routes of theft that a layer covers, the features that an accessory adds."""
    kit: tuple[KitItem, ...] = ()
    """The rest of its kit."""
    kept_at: str = ""
    """Of factory equipment, the subject of its readings, up to the name of a field."""

    @property
    def figures_at(self) -> str:
        """The subject of its readings, up to the name of a field: ``part:00123.``."""
        return self.kept_at or f"part:{self.part_id}."

    @cached_property
    def cents(self) -> int:
        """Price, with accompanying parts."""
        cents = self.cost.cents
        for one in self.along:
            cents += one.cents
        return cents

    @cached_property
    def uses(self) -> tuple[int, ...]:
        """Use of each limited sum beside money, as `USES` names them."""
        drain_ua = self.drain_ua
        if self.along:
            drain_ua += sum(one.drain_ua for one in self.along)
        return (drain_ua, 0 if self.draw is None else self.draw.music_ma or 0, 0)

    @cached_property
    def total_points(self) -> int:
        """Its points by itself, with those of what comes along."""
        total = 0
        for _, value in self.points:
            total += value
        for one in self.along:
            total += one.total_points
        return total

    @property
    def unsure(self) -> bool:
        """Whether its own fit is still to be measured."""
        return self.code != FITS

    @cached_property
    def is_open(self) -> bool:
        """Whether anything about it is still to be measured."""
        return self.unsure or self.unsure_drain or self.unsure_supply or any(one.is_open for one in self.along)

    @cached_property
    def name(self) -> tuple[str, str]:
        """Part and adapter, as the total order compares them; with what tells, after a sign that no name holds.

        A factory amplifier is told by its spot: a package that uses it is not one that has none.
        """
        adapter = self.adapter_id or (str(self.opening_id) if self.kept_at and self.slot == "amplifier" else "")
        if self.along:
            told = (one.part_id for one in self.along if one.slot in TELLING and one.part_id is not None)
            adapter = "\x1f".join((adapter, *told))
        return (self.part_id or "", adapter)


class ByIdentity:
    """A key that tells a thing by which it is, not by what it holds."""

    __slots__ = ("thing",)

    def __init__(self, thing: object) -> None:
        self.thing = thing

    def __hash__(self) -> int:
        return id(self.thing)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ByIdentity) and self.thing is other.thing


def made_of(some: Sequence[Candidate], key: object, make: Callable[[], Any]) -> Any:
    """Results computed from some candidates, once as long as they stay the same."""
    made: dict[object, Any] | None = getattr(some, "made", None)
    if made is None:
        return make()
    if key not in made:
        made[key] = make()
    return made[key]


def head_signature(one: Candidate) -> HeadSignature:
    """Electrical class of a head unit."""
    assert isinstance(one.signature, HeadSignature)
    return one.signature


def aid_of(one: Candidate) -> LineAid | None:
    """Accessory that makes the line level of a head unit that has none itself."""
    return next((each.signature for each in one.along if isinstance(each.signature, LineAid)), None)


def block_of(head: HeadSignature) -> HeadSignature:
    """A head unit's own amplifier, without its channels and its line outputs."""
    return HeadSignature(None, head.amp_w, head.amp_min_ohm, None, None)


def amplifier_signature(one: Candidate) -> AmplifierSignature:
    """Electrical class of an amplifier."""
    assert isinstance(one.signature, AmplifierSignature)
    return one.signature


def speaker_signature(one: Candidate) -> SpeakerSignature:
    """Electrical class of a loudspeaker."""
    assert isinstance(one.signature, SpeakerSignature)
    return one.signature


def cents(amount: Decimal) -> int:
    """Money as whole hundredths, half a hundredth upward."""
    return int((amount * 100).quantize(Decimal(1), ROUND_HALF_UP))


def packs_for(pieces: int, pack_of: int) -> int:
    """Whole packs that hold so many pieces.

    >>> packs_for(2, 2), packs_for(2, 1), packs_for(1, 2)
    (1, 2, 1)
    """
    return -(-pieces // pack_of)
