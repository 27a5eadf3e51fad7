"""Loudspeakers that only more alteration than is allowed would fit: on any feed the best of each signature.

The best has most points for level and reach; of equal ones it is the cheapest, then the first by name.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from matcher.rules.rule import FITS, MEASURE
from matcher.search.candidates.common import COMMON, named
from matcher.search.candidates.loudspeakers import SPEAKER, laid_at, leveled_sql, lows_of, speaker_of
from matcher.search.feeds.parts import Candidate, SpeakerSignature
from matcher.search.fits.laid import Laid
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, SpeakerPlace
from matcher.search.scoring import Scoring

OnFeed = tuple[SpeakerSignature, int | None]
"""A signature, and what a feed adds to the level at 1 W, in hundredths of a decibel; none where that is not known."""
SIGNATURE = ("impedance_ohm", "coils", "rms_w")


def speakers_beyond(
    sweeps: Sweeps, question: JobQuestion, place: SpeakerPlace, scoring: Scoring, k: int
) -> SpeakersBeyond:
    """The loudspeakers of an opening beyond its step; `k` is how many packages were asked for."""
    laid = laid_at(sweeps, question, place, k)
    key = (laid.relation, "beyond", place.allowed)
    kept: LaidBeyond = sweeps.once(key, lambda: keep_beyond(sweeps, laid, place.allowed))
    found: SpeakersBeyond = sweeps.once(
        (*key, scoring.wishes), lambda: SpeakersBeyond(sweeps, laid, place, scoring, kept)
    )
    return found


class LaidBeyond(NamedTuple):
    """What is beyond the step of one opening, whatever is wished for."""

    relation: str
    """Of those alike in level and reach the cheapest, as ``held``."""
    signatures: list[SpeakerSignature]
    levels: list[int]


def keep_beyond(sweeps: Sweeps, laid: Laid, allowed: int) -> LaidBeyond:
    """Lay the loudspeakers beyond a step, of those alike in level and reach only the cheapest."""
    name = sweeps.shelf.place("beyond")
    if not laid.mates.mouths:
        return LaidBeyond(name, [], [])
    con = sweeps.con
    alike, row = ", ".join((*SIGNATURE, "level_cdb", "low_hz AS reach")), ", ".join(f"'{one}': {one}" for one in ROW)
    relation, params = leveled_sql(sweeps, laid)
    con.execute(
        f"{sweeps.shelf.create} TABLE {name} AS SELECT {alike}, "
        f"arg_min({{{row}}}, {{'cents': cents, 'name': name}}) AS held "
        f"FROM (SELECT *, [part_id, coalesce(adapter_id, '')] AS name FROM ({relation})) "
        f"WHERE taken > {allowed} GROUP BY ALL",
        params,
    )
    signatures = con.execute(f"SELECT DISTINCT {', '.join(SIGNATURE)} FROM {name}").fetchall()
    levels = con.execute(f"SELECT DISTINCT level_cdb FROM {name} WHERE level_cdb IS NOT NULL").fetchall()
    return LaidBeyond(name, [SpeakerSignature(*each) for each in signatures], [level for (level,) in levels])


@dataclass
class SpeakersBeyond:
    """What is beyond the step of one opening, by what is wished for."""

    sweeps: Sweeps
    laid: Laid
    place: SpeakerPlace
    scoring: Scoring
    kept: LaidBeyond
    _best: dict[OnFeed, Candidate] = field(default_factory=dict)

    @property
    def signatures(self) -> list[SpeakerSignature]:
        """Every signature of them."""
        return self.kept.signatures

    def best(self, feeds: Collection[OnFeed]) -> dict[OnFeed, Candidate]:
        """The best of each of these signatures on each of these feeds."""
        unasked = list(dict.fromkeys(one for one in feeds if one not in self._best))
        if unasked:
            self._best |= self._read(unasked)
        return {one: self._best[one] for one in feeds}

    def _read(self, feeds: list[OnFeed]) -> dict[OnFeed, Candidate]:
        asked = ", ".join(f"unnest($sig_{at}::DECIMAL(15,6)[]) AS sig_{at}" for at, _ in enumerate(SIGNATURE))
        met = " AND ".join(f"{name} IS NOT DISTINCT FROM sig_{at}" for at, name in enumerate(SIGNATURE))
        order = "{'points': -(coalesce(earned, 0) + coalesce(low_points, 0)), 'cents': held.cents, 'name': held.name}"
        cells = ", ".join(f"one.{name}" for name in ROW)
        gains = {gain for _, gain in feeds if gain is not None}
        earned = [(gain, level, self.scoring.level(level + gain)) for gain in gains for level in self.kept.levels]
        rows = self.sweeps.con.execute(
            f"WITH asked AS (SELECT {asked}, unnest($gain::BIGINT[]) AS gain, unnest($number::INTEGER[]) AS number), "
            "scores AS (SELECT unnest($gains::BIGINT[]) AS gain, unnest($levels::BIGINT[]) AS level_cdb, "
            "unnest($earned::BIGINT[]) AS earned), lows AS (SELECT unnest($lows, max_depth := 2)), "
            f"best AS (SELECT number, arg_min(held, {order}) AS one "
            f"FROM {self.kept.relation} AS kept JOIN asked ON {met} "
            "LEFT JOIN lows ON lows.low_hz = kept.reach LEFT JOIN scores "
            "ON scores.gain = asked.gain AND scores.level_cdb = kept.level_cdb GROUP BY number) "
            f"SELECT number, {cells} FROM best",
            {
                **{f"sig_{at}": [getattr(one, name) for one, _ in feeds] for at, name in enumerate(SIGNATURE)},
                "lows": lows_of(self.sweeps, self.laid, self.scoring),
                "gain": [gain for _, gain in feeds],
                "number": list(range(len(feeds))),
                "gains": [gain for gain, _, _ in earned],
                "levels": [level for _, level, _ in earned],
                "earned": [points for _, _, points in earned],
            },
        ).fetchall()
        return {feeds[number]: self._candidate(row) for number, *row in rows}

    def _candidate(self, row: list[Any]) -> Candidate:
        _, _, through, taken, sure, part_id, *rest = row
        (adapter,) = self.laid.mates.cheapest(self.laid.through[through], 1)
        paid = (adapter["price"], adapter["pack_of"], adapter["labour_h"])
        code = FITS if sure else MEASURE
        return speaker_of((adapter["adapter_id"], taken, code, part_id, *rest, paid), self.place, self.scoring)


ROW = ("cents", "name", "through", "taken", "sure", "part_id", *named((*COMMON, *SPEAKER)))
