"""Candidates as the ranking sees them: price, points, and electrical class."""

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
"""Level limit by travel if there is none, or if it is unknown."""


@dataclass(frozen=True, slots=True)
class HeadSignature:
    """Electrical class of a head unit."""

    amp_channels: int | None
    amp_w: Decimal | None
    amp_min_ohm: Decimal | None
    preouts: int | None
    preout_v: Decimal | None
    preout_v_tol: Decimal | None = None
    high_pass: bool | None = False
    """Whether its outputs have one, if bass is asked for."""
    low_pass: bool | None = False


@dataclass(frozen=True, slots=True)
class AmplifierSignature:
    """Electrical class of an amplifier; a peak power does not count."""

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
    high_pass: bool | None = False
    """Whether its channels have one, if bass is asked for."""
    low_pass: bool | None = False


@dataclass(frozen=True, slots=True)
class LineAid:
    """Line level that an accessory makes from a head unit's outputs: up to a maximum in volts, set at fitting."""

    kind: str
    """``line_driver`` raises a line output, ``line_output_converter`` makes one from loudspeaker outputs."""
    greatest_v: Decimal | None


@dataclass(frozen=True, slots=True)
class SpeakerSignature:
    """Electrical class of a loudspeaker; an original's may be unknown."""

    impedance_ohm: Decimal | None
    coils: int
    rms_w: Decimal | None
    original: bool = False

    @property
    def is_unrated(self) -> bool:
        """Whether it is an original with an unknown rating: then no rule requires one."""
        return self.original and self.rms_w is None


@dataclass(frozen=True, slots=True)
class Cost:
    """Price of a candidate: whole packs of it and its adapter, and labor."""

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
"""Accompanying parts that distinguish packages with the same main parts; a cable is the same at any spot."""
ROOM = 10**11
"""Limit on room, the same for every spot: 100 m, in millionths of a millimeter. Sums of it stay below `ENDLESS`."""
NO_USE = (0,) * len(USES)

NO_COST = Cost(0, 0, 0, 0, 0)

Signature = HeadSignature | AmplifierSignature | SpeakerSignature | LineAid | None
"""None: no link involves it."""


LINES = ("preouts", "preout_v", "amp_channels", "amp_w", "amp_min_ohm", "high_pass", "low_pass")
FULL = ("channels", "min_ohm", "w_4ohm", "w_2ohm", "bridged_w_4ohm", "bridged_min_ohm")
LOW = ("bass_channels", "bass_min_ohm", "bass_w_4ohm", "bass_w_2ohm", "bass_w_1ohm")
INPUTS = ("input_min_v", "input_max_v", "high_level_in", "high_pass", "low_pass")
TOLERANCES = ("preout_v_tol", "input_min_v_tol", "input_max_v_tol")


def is_incomplete(one: Signature) -> bool:
    """Whether a figure that its links depend on is unknown or inexact."""
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
    """Whether it is an original loudspeaker with an unknown load."""
    return isinstance(one, SpeakerSignature) and one.impedance_ohm is None


@dataclass(frozen=True, slots=True)
class AmplifierDraw:
    """Maximum current of an amplifier, and the requirements for its cable; None if a figure is unknown."""

    full_ma: int | None
    """At full sine."""
    music_ma: int | None
    fuse_a: Decimal | None = None
    copper_mm2: Decimal | None = None
    cca_mm2: Decimal | None = None
    """Minimum area of copper, and of copper-clad aluminum."""
    wants: tuple[str, ...] = ()
    """Fields of the amplifier that are missing to know its current."""


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A part that can fill a slot, with its own figures; defaults are those of an original that stays.

    ``points`` are hundredths of a point and ``cents`` hundredths of the store's currency, so that ties are exact.
    """

    slot: str
    opening_id: str | None = None
    part_id: str | None = None
    adapter_id: str | None = None
    step: int = 0
    code: int = FITS
    """Verdict code of its fit."""
    cost: Cost = NO_COST
    drain_ua: int = 0
    unsure_drain: bool = False
    points: tuple[tuple[str, int], ...] = ()
    signature: Signature = None
    level_cdb: int | None = None
    travel_cdb: int = BOUNDLESS
    """Level limit by the cone's travel at the high-pass frequency."""
    low_hz: Decimal | None = None
    high_hz: Decimal | None = None
    screen_in: Decimal | None = None
    features: frozenset[str] | None = None
    draw: AmplifierDraw | None = None
    """Current of an amplifier."""
    unsure_supply: bool = False
    """Whether a figure of its supply is open."""
    quiet: Candidate | None = None
    """The same amplifier when another one plays the bass: it draws less."""
    along: tuple[Candidate, ...] = ()
    """Accompanying parts: an amplifier's cable, a head unit's accessories."""
    covers: tuple[str, ...] = ()
    """Panes of a film, theft routes that a security layer covers, or features that an accessory adds."""
    kit: tuple[KitItem, ...] = ()
    """The rest of its kit."""
    kept_at: str = ""
    """Reading subject of factory equipment, up to the field name."""

    @property
    def figures_at(self) -> str:
        """Reading subject, up to the field name: ``part:00123.``."""
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
        """Amounts of the limited sums other than money, in the order of `USES`."""
        drain_ua = self.drain_ua
        if self.along:
            drain_ua += sum(one.drain_ua for one in self.along)
        return (drain_ua, 0 if self.draw is None else self.draw.music_ma or 0, 0)

    @cached_property
    def total_points(self) -> int:
        """Own points, with those of accompanying parts."""
        total = 0
        for _, value in self.points:
            total += value
        for one in self.along:
            total += one.total_points
        return total

    @property
    def unsure(self) -> bool:
        """Whether its own fit is open."""
        return self.code != FITS

    @cached_property
    def is_open(self) -> bool:
        """Whether anything about it is open."""
        return self.unsure or self.unsure_drain or self.unsure_supply or any(one.is_open for one in self.along)

    @cached_property
    def name(self) -> tuple[str, str]:
        """Part and adapter for the total order; what else distinguishes them follows a sign that no name contains.

        A factory amplifier is named by its spot, so that a package that uses it differs from one without.
        """
        adapter = self.adapter_id or (str(self.opening_id) if self.kept_at and self.slot == "amplifier" else "")
        if self.along:
            names = (one.part_id for one in self.along if one.slot in TELLING and one.part_id is not None)
            adapter = "\x1f".join((adapter, *names))
        return (self.part_id or "", adapter)


class ByIdentity:
    """A key that compares objects by identity, not by value."""

    __slots__ = ("thing",)

    def __init__(self, thing: object) -> None:
        self.thing = thing

    def __hash__(self) -> int:
        return id(self.thing)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ByIdentity) and self.thing is other.thing


def made_of(some: Sequence[Candidate], key: object, make: Callable[[], Any]) -> Any:
    """Results computed from some candidates, cached while these stay the same."""
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
    """Accessory that makes a line level for a head unit without one."""
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
    """Return the number of whole packs that hold this many pieces.

    >>> packs_for(2, 2), packs_for(2, 1), packs_for(1, 2)
    (1, 2, 1)
    """
    return -(-pieces // pack_of)
