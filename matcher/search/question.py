"""What a job asks, read against its vehicle: the slots to fill and the limits on each."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.jobs import DEFAULT_STEP, Job, step_rank
from matcher.search.feeds.plans import Fed
from matcher.search.fits.sweep import VEHICLE, Sweeps
from matcher.search.headroom import Headroom, read_headroom
from matcher.settings import Settings
from matcher.store.connection import Connection

HEAD_UNIT = "head_unit"
BESIDE = ("film", "security")
"""The slots beside the sound, as a job names them."""
BASS = "bass"


@dataclass(frozen=True, slots=True)
class SpeakerPlace:
    """A loudspeaker place of the job: to be filled, or with its original kept."""

    opening_id: str
    count: int
    allowed: int
    kept: bool
    factory_ohm: Decimal | None

    @property
    def fed(self) -> Fed:
        """As the plans see it."""
        return Fed(self.opening_id, self.count)


@dataclass(frozen=True, slots=True)
class BassPlace:
    """A cargo space that may take a bass box."""

    opening_id: str
    allowed: int


@dataclass(frozen=True, slots=True)
class JobQuestion:
    """A job against its vehicle."""

    job: Job
    dash_id: str | None
    """The dash opening that gets a head unit; none where the original stays."""
    dash_allowed: int
    speakers: tuple[SpeakerPlace, ...]
    amp_spots: tuple[str, ...]
    kept: tuple[str, ...]
    """Places and spots that stay as they are."""
    at_rest_ma: Decimal
    bass: tuple[BassPlace, ...]
    """Cargo spaces for bass."""
    bass_names: tuple[str, ...]
    """How the job asks for bass: by that word, or by the names of cargo spaces; empty where it doesn't."""
    headroom: Headroom
    """What charging has over for the sound."""

    @property
    def asks_film(self) -> bool:
        """Whether film is to be chosen."""
        return "film" in (self.job.choose or ())

    @property
    def asks_security(self) -> bool:
        """Whether layers of security are to be chosen: asked for, or routes named."""
        return "security" in (self.job.choose or ()) or bool(self.routes)

    @property
    def routes(self) -> tuple[str, ...]:
        """Routes of theft to be covered."""
        return self.job.security_routes or ()

    @property
    def named_beside(self) -> tuple[str, ...]:
        """The slots beside the sound that the job names."""
        return tuple(name for name in BESIDE if name in (self.job.choose or ()))

    @property
    def chosen(self) -> list[SpeakerPlace]:
        """The places that get loudspeakers."""
        return [place for place in self.speakers if not place.kept]


@dataclass(frozen=True, slots=True)
class VehicleSays:
    """What a job is read against: the openings of its vehicle by name, and what its charging has over."""

    spots: list[str]
    cargos: list[str]
    dashes: list[str]
    speakers: list[tuple[str, int | None, Decimal | None]]
    headroom: Headroom


def read_question(con: Connection, job: Job, settings: Settings) -> JobQuestion:
    """The slots and limits of a job on its vehicle."""
    return _question(job, _read_vehicle(con, job.vehicle_id, settings), settings)


def question_of(sweeps: Sweeps, job: Job) -> JobQuestion:
    """The same; what the vehicle says is read once for all jobs on it."""
    says: VehicleSays = sweeps.once(
        (VEHICLE, job.vehicle_id), lambda: _read_vehicle(sweeps.con, job.vehicle_id, sweeps.settings)
    )
    return _question(job, says, sweeps.settings)


def _read_vehicle(con: Connection, vehicle_id: str, settings: Settings) -> VehicleSays:
    spots, cargos, dashes = (_openings(con, kind, vehicle_id) for kind in ("amp_spot", "cargo", "dash"))
    speakers = con.execute(
        "SELECT opening_id, count, factory_ohm FROM opening_speaker WHERE vehicle_id = ? ORDER BY opening_id",
        [vehicle_id],
    ).fetchall()
    return VehicleSays(spots, cargos, dashes, speakers, read_headroom(con, vehicle_id, settings))


def _question(job: Job, says: VehicleSays, settings: Settings) -> JobQuestion:
    keep, choose = set(job.keep or ()), set(job.choose or ())
    resting = job.limits.at_rest_ma
    spots, cargos = says.spots, says.cargos
    places = _speaker_places(says.speakers, job, choose, keep)
    may_stay = cargos if choose & {BASS, *cargos} else []
    dash_id = _dash(says.dashes, choose, keep)
    return JobQuestion(
        job=job,
        dash_id=dash_id,
        dash_allowed=allowed_step(job, dash_id),
        speakers=tuple(places),
        amp_spots=tuple(name for name in spots if name not in keep),
        kept=tuple(name for name in (*(place.opening_id for place in places), *spots, *may_stay) if name in keep),
        at_rest_ma=resting.value if resting is not None else settings["at_rest_ma"],
        bass=tuple(_bass_places(cargos, job, choose, keep)),
        bass_names=tuple(name for name in (BASS, *cargos) if name in choose),
        headroom=says.headroom,
    )


def _dash(dashes: list[str], choose: set[str], keep: set[str]) -> str | None:
    """The dash opening that gets a head unit: one that is named, or the first that need not stay."""
    free = [name for name in dashes if name not in keep]
    named = [name for name in free if name in choose]
    if named or not free or (choose and HEAD_UNIT not in choose):
        return named[0] if named else None
    return free[0]


def _openings(con: Connection, kind: str, vehicle_id: str) -> list[str]:
    rows = con.execute(
        f"SELECT opening_id FROM opening_{kind} WHERE vehicle_id = ? ORDER BY opening_id", [vehicle_id]
    ).fetchall()
    return [name for (name,) in rows]


def _speaker_places(
    rows: list[tuple[str, int | None, Decimal | None]], job: Job, choose: set[str], keep: set[str]
) -> list[SpeakerPlace]:
    every = not choose
    return [
        SpeakerPlace(name, count or 2, allowed_step(job, name), name in keep, ohm)
        for name, count, ohm in rows
        if name in keep or every or name in choose
    ]


def _bass_places(cargos: list[str], job: Job, choose: set[str], keep: set[str]) -> list[BassPlace]:
    """The cargo spaces that may take a bass box: those named, or all, and none that stays as it is."""
    named = [name for name in cargos if name in choose] or (cargos if BASS in choose else [])
    return [BassPlace(name, allowed_step(job, name)) for name in named if name not in keep]


def allowed_step(job: Job, opening_id: str | None) -> int:
    """The highest step of the ladder at an opening: its own, or the job's."""
    own = job.limits.per_opening.get(opening_id or "")
    return step_rank(own or job.limits.alteration or DEFAULT_STEP)
