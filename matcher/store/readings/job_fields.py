"""Fields measured for a job at set-up: a fixed list, some of them for each opening."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalog_schema.columns import TableColumn
from catalog_schema.kinds import ChoiceKind, FigureKind, Kind

RIGHT, WRONG = "right", "wrong"
SPEAKER_KINDS = frozenset({"speaker", "cargo"})


@dataclass(frozen=True, slots=True)
class JobField:
    """A field: its kind, whether each opening with a loudspeaker has its own, and its meaning."""

    kind: Kind
    at_opening: bool
    meaning: str


JOB_FIELDS: Mapping[str, JobField] = {
    "clean_step": JobField(FigureKind("n"), False, "last step of the head unit's volume whose wave is clean"),
    "clipped_step": JobField(FigureKind("n"), False, "first step of the head unit's volume whose wave is clipped"),
    "clean_v": JobField(FigureKind("v"), False, "output of the head unit at its last clean step"),
    "gain_v": JobField(FigureKind("v"), True, "voltage at the amplifier's terminals as the gain is set"),
    "tone_db": JobField(FigureKind("db", least=None), True, "level of the tone that the gain was set with"),
    "polarity": JobField(ChoiceKind((RIGHT, WRONG)), True, "whether the cones move outward on a positive pulse"),
    "high_pass_hz": JobField(FigureKind("hz"), True, "where the high-pass begins, as it is set"),
    "low_pass_hz": JobField(FigureKind("hz"), True, "where the low-pass begins, as it is set"),
    "delay_ms": JobField(FigureKind("ms"), True, "delay as it is set"),
    "music_a": JobField(FigureKind("a"), False, "current of all amplifiers on music"),
    "full_a": JobField(FigureKind("a"), False, "current of all amplifiers at full sine"),
    "rest_before_ma": JobField(FigureKind("ma"), False, "standby drain as the car was found"),
    "rest_ma": JobField(FigureKind("ma"), False, "standby drain as the car is left"),
}
"""Every field of a job by name; an opening's is written ``gain_v.OPENING``."""


def job_columns(kinds: Mapping[str, str]) -> tuple[TableColumn, ...]:
    """Return the fields of a job on a vehicle with these openings, each with its kind."""
    places = [name for name, kind in kinds.items() if kind in SPEAKER_KINDS]
    return tuple(
        TableColumn(full, field.kind, False, None)
        for name, field in JOB_FIELDS.items()
        for full in ([f"{name}.{place}" for place in places] if field.at_opening else [name])
    )
