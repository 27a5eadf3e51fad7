"""A job with its vehicle: the slots to fill and the limits on each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.jobs import DEFAULT_STEP, Job, step_rank
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.explain import cell
from matcher.kernel.sums import most_of
from matcher.rules.charging import AT_IDLE, ON_MUSIC
from matcher.rules.rule import FITS
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.vehicle import Row, VehicleColumns
from matcher.search.catalog.wishes import wishes_of
from matcher.search.feeds.plans import Fed
from matcher.settings import Settings
from matcher.store.database.archived import archived_openings

MICRO_A_IN_MA = 1000
HEAD_UNIT = "head_unit"
BESIDE = ("film", "security")
"""Names of the independent slots in a job."""
BASS = "bass"


@dataclass(frozen=True, slots=True)
class SpeakerPlace:
    """A loudspeaker place of the job: to be filled, or keeping its original."""

    opening_id: str
    count: int
    allowed: int
    kept: bool
    factory_ohm: Decimal | None
    is_rear: bool = False
    """Whether it is behind the listeners."""
    over_bass: bool = False
    """Whether a bass system plays the range below it."""

    @property
    def fed(self) -> Fed:
        """The place as plans see it."""
        return Fed(self.opening_id, self.count, self.is_rear)


@dataclass(frozen=True, slots=True)
class BassPlace:
    """A cargo space that may take a bass box."""

    opening_id: str
    allowed: int


@dataclass(frozen=True, slots=True)
class Headroom:
    """Charging less what the vehicle itself uses, and how much of it the sound may draw on music.

    None if a figure is not known.
    """

    over_a: Decimal | None
    idle_a: Decimal | None
    """The same at idle, with what the battery can spare."""
    sure_ma: int | None
    """With nothing left to measure."""
    hoped_ma: int | None
    """With nothing that says no."""

    def most_ma(self, *, sure: bool) -> int | None:
        """The most that the sound may draw on music."""
        return self.sure_ma if sure else self.hoped_ma

    @property
    def code(self) -> int:
        """Verdict code of charging: open if a figure is unknown."""
        codes = ((self.over_a, ON_MUSIC.measure), (self.idle_a, AT_IDLE.measure))
        return min((code for over_a, code in codes if over_a is None), default=FITS)


@dataclass(frozen=True, slots=True)
class JobQuestion:
    """A job with its vehicle."""

    job: Job
    dash_id: str | None
    """The dash opening to fill; None if the original head unit stays."""
    dash_allowed: int
    speakers: tuple[SpeakerPlace, ...]
    amp_spots: tuple[str, ...]
    kept: tuple[str, ...]
    """Places and spots that keep their equipment."""
    at_rest_ma: Decimal
    bass: tuple[BassPlace, ...]
    """Cargo spaces for bass."""
    bass_names: tuple[str, ...]
    """The job's wish for bass: that word, or names of cargo spaces; empty without one."""
    headroom: Headroom
    """Spare charging current for the sound."""

    @property
    def asks_film(self) -> bool:
        """Whether film is wanted."""
        return "film" in self._named

    @property
    def asks_security(self) -> bool:
        """Whether security layers are wanted, or theft routes are named."""
        return "security" in self._named or bool(self.routes)

    @property
    def routes(self) -> tuple[str, ...]:
        """Theft routes to cover."""
        return self.job.security_routes or ()

    @property
    def named_beside(self) -> tuple[str, ...]:
        """Independent slots that the job names."""
        return tuple(name for name in BESIDE if name in self._named)

    @property
    def _named(self) -> tuple[str, ...]:
        """Slots chosen by name, or with a pinned part."""
        return (*(self.job.choose or ()), *self.job.pin)

    def pinned(self, *slots: str | None) -> str | None:
        """Return the pinned part of the first of some slots that has one."""
        return next((part for slot in slots if (part := self.job.pin.get(slot or "")) is not None), None)

    @property
    def chosen(self) -> list[SpeakerPlace]:
        """The places to fill."""
        return [place for place in self.speakers if not place.kept]


def question_of(catalog: Catalog, job: Job) -> JobQuestion:
    """The slots and limits of a job on its vehicle."""
    vehicle = catalog.vehicle(job.vehicle_id)
    keep, every, choose = set(job.keep or ()), not job.choose, {*(job.choose or ()), *job.pin}
    key = "archived openings", job.vehicle_id
    unused = catalog.once(key, lambda: archived_openings(catalog.con, job.vehicle_id)) - choose - keep
    spots, cargos, dashes = (
        [name for name in vehicle.openings(kind).opening_ids if name not in unused]
        for kind in ("amp_spot", "cargo", "dash")
    )
    bass = _bass_places(cargos, job, choose, keep)
    speakers = [row for row in vehicle.openings("speaker").rows if row["opening_id"] not in unused]
    places = _speaker_places(speakers, job, None if every else choose, keep, over_bass=bool(bass))
    may_stay = cargos if choose & {BASS, *cargos} else []
    dash_id = _dash(dashes, choose, keep, every=every)
    return JobQuestion(
        job=job,
        dash_id=dash_id,
        dash_allowed=allowed_step(job, dash_id),
        speakers=tuple(places),
        amp_spots=tuple(name for name in spots if name not in keep),
        kept=tuple(name for name in (*(place.opening_id for place in places), *spots, *may_stay) if name in keep),
        at_rest_ma=at_rest_ma(job, vehicle, catalog.settings),
        bass=tuple(bass),
        bass_names=tuple(name for name in (BASS, *cargos) if name in choose),
        headroom=catalog.once(("headroom", job.vehicle_id), lambda: headroom_of(vehicle, catalog.settings)),
    )


def _dash(dashes: list[str], choose: set[str], keep: set[str], *, every: bool) -> str | None:
    """The dash opening to fill: the named one, or the first without a kept original."""
    free = [name for name in dashes if name not in keep]
    named = [name for name in free if name in choose]
    if named or not free or not (every or HEAD_UNIT in choose):
        return named[0] if named else None
    return free[0]


def _speaker_places(
    rows: Sequence[Row], job: Job, choose: set[str] | None, keep: set[str], *, over_bass: bool
) -> list[SpeakerPlace]:
    """Places to fill (all if none is named), and those that keep their original."""
    return [
        SpeakerPlace(
            opening_id=name,
            count=row["count"] or 2,
            allowed=allowed_step(job, name),
            kept=name in keep,
            factory_ohm=row["factory_ohm"],
            is_rear=row["position"] == "rear",
            over_bass=over_bass,
        )
        for row in rows
        for name in (row["opening_id"],)
        if name in keep or choose is None or name in choose
    ]


def _bass_places(cargos: list[str], job: Job, choose: set[str], keep: set[str]) -> list[BassPlace]:
    """Cargo spaces that may hold a bass box: those named, or all, except kept ones."""
    named = [name for name in cargos if name in choose] or (cargos if BASS in choose else [])
    return [BassPlace(name, allowed_step(job, name)) for name in named if name not in keep]


def allowed_step(job: Job, opening_id: str | None) -> int:
    """Return the highest allowed step at an opening: its own limit, or the job's."""
    own = job.limits.per_opening.get(opening_id or "")
    return step_rank(own or job.limits.alteration or DEFAULT_STEP)


def at_rest_ma(job: Job, vehicle: VehicleColumns, settings: Settings) -> Decimal:
    """Return the most that parts may draw at rest: what the job names, else the shop's limit.

    The latter is no more than the battery spares over the days that a car may stand, less the car's own drain, if
    both were measured: what stays on then leaves enough for a start. Common practice, no published source.
    """
    if job.limits.at_rest_ma is not None:
        return job.limits.at_rest_ma.value
    known: list[Decimal | None] = [vehicle.row.get(name) for name in ("battery_ah", "rest_ma")]
    battery_ah, own_ma = known
    if battery_ah is None or own_ma is None:
        return settings["at_rest_ma"]
    spared_ma = battery_ah * 10 * settings["battery_share_pct"] / (24 * settings["rest_days"])
    return min(settings["at_rest_ma"], max(Decimal(0), round(spared_ma - own_ma, 1)))


def headroom_of(vehicle: VehicleColumns, settings: Settings) -> Headroom:
    """Charging current of a vehicle, as `supply.charging` and `supply.idle` read it."""
    at = Evaluation(vehicle.columns, settings)
    over = (at.value(rule.have) for rule in (ON_MUSIC, AT_IDLE))
    over_a, idle_a = (from_micro(cell(one.values, 0)) if cell(one.known, 0) else None for one in over)
    sure_ma, hoped_ma = (_most_ma(vehicle, settings, sure=sure) for sure in (True, False))
    return Headroom(over_a, idle_a, sure_ma, hoped_ma)


def _most_ma(vehicle: VehicleColumns, settings: Settings, *, sure: bool) -> int | None:
    limits = (most_of(rule, vehicle.columns, settings, sure=sure) for rule in (ON_MUSIC, AT_IDLE))
    most = min((limit for limit in limits if limit is not None), default=None)
    # A package without an amplifier asks nothing of charging.
    return None if most is None else max(0, most // MICRO_A_IN_MA)


def wished(catalog: Catalog, job: Job, *, known_delivery: bool = False) -> Catalog:
    """Return the same with the parts alone that a job allows, and those that its customer has."""
    return catalog.wished(wishes_of(job, known_delivery=known_delivery))


def pinned(catalog: Catalog, question: JobQuestion, family: str, *slots: str | None) -> Catalog:
    """Return the same with a family's pinned part alone, if one of some slots has one."""
    part_id = question.pinned(*slots)
    if family == "speaker":
        catalog = catalog.wished(catalog.wishes.at(str(slots[0])))
    if part_id is None:
        return catalog
    return catalog.wished(catalog.wishes.pinned(family, part_id))
