"""Packages that could still win: those that would, were everything that is open about them to turn out well.

What is not known costs points. In a ranking where it costs none, a package that is not sure stands at least as
high as it ever can by the rules; what stands below the winner of now there can never win by being measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from catalog_schema.jobs import Job
from matcher.search.candidates.line_aids import line_aids
from matcher.search.cores import Field
from matcher.search.exact.packages import Found
from matcher.search.exact.ranking import Ranking
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import bounds_of, gather_field
from matcher.search.question import read_question
from matcher.settings import Settings
from matcher.store.connection import Connection

KEPT = 3
"""How many candidates that could stand in for one another are looked at."""

Doubt = tuple[str, str | None, tuple[str, str]]
"""A candidate about which something is open: its slot, its place, its name."""


def contenders(con: Connection, job: Job, settings: Settings, best: Found | None, most: int) -> Iterator[Found]:
    """Packages with something open that might beat the best one of now: the most promising first, each with
    something open that none before it had.
    """
    hopeful = hoping(settings)
    sweeps = Sweeps(con, hopeful)
    question = read_question(con, job, hopeful)
    field = gather_field(sweeps, question, Look(KEPT))
    bounds = bounds_of(question, job.limits.budget)
    seen: set[Doubt] = set()
    for _ in range(most):
        left = replace(without_seen(field, seen), aids=line_aids(sweeps, field.scoring, KEPT))
        left.ask_rules(con)
        found = Ranking(left.cores()).best(bounds, 1)
        if not found or (best is not None and found[0].points < best.points):
            return
        doubts = doubts_of(found[0])
        if not doubts:
            return
        yield found[0]
        seen |= doubts


def hoping(settings: Settings) -> Settings:
    """The shop's settings, but that nothing is lost for what is not known."""
    return Settings({**settings.own, "points_unknown": Decimal(0)}, settings.own_words)


def doubts_of(found: Found) -> set[Doubt]:
    """What of a package is open by itself."""
    every = [one.candidate for entry in found.entries for one in entry.what]
    return {key_of(one) for one in every if one.is_open}


def key_of(one: Candidate) -> Doubt:
    """What tells a candidate from all others."""
    return one.slot.removeprefix("bass_"), one.opening_id, one.name


def without_seen(field: Field, seen: set[Doubt]) -> Field:
    """A field without the candidates whose doubts were looked at."""

    def left(candidates: list[Candidate]) -> list[Candidate]:
        return [one for one in candidates if key_of(one) not in seen]

    bass = field.bass
    if bass is not None:
        systems = [one for one in bass.systems if not ({key_of(one.driver), key_of(one.box)} & seen)]
        bass = replace(bass, systems=systems)
    return replace(
        field,
        heads=left(field.heads),
        amplifiers=left(field.amplifiers),
        speakers={name: left(parts) for name, parts in field.speakers.items()},
        bass=bass,
        beside=[
            replace(slot, alternatives=[some for some in slot.alternatives if len(left(list(some))) == len(some)])
            for slot in field.beside
        ],
    )
