"""Accessories that make a line level: drivers that lift a head unit's, converters that make one of loudspeaker outputs.

At most one hangs on a head unit, and only where the rules say better of the line with it than without. How
exactly k best are found: a head unit is left out beside one of them where k others of its signature always beat
it with the very same one, and one of them where k others that do the same always beat it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from typing import Any

from matcher.rules.rule import FITS
from matcher.search.candidates.accessories import (
    COLUMNS,
    LINE_KINDS,
    OUTPUTS,
    Features,
    accessory,
    leading,
    needs_codes,
)
from matcher.search.feeds.links import Line, line_of, outputs_of
from matcher.search.feeds.parts import AmplifierSignature, Candidate, HeadSignature, LineAid, head_signature
from matcher.search.fits.sweep import Sweeps
from matcher.search.scoring import Scoring
from matcher.store.connection import Connection

LEVEL = re.compile(r"line_(\d+(?:\.\d+)?)v")
"""How an accessory's `gives` names the most volts that it can be set to: ``line_8v``, ``line_2.5v``."""

Kin = tuple[HeadSignature, Features | None]
"""Head units that are one to these accessories: by what they are to the system, and by the features that count."""


@dataclass(frozen=True, slots=True)
class Helped:
    """Head units of one signature with one accessory, and what the rules then say of their line."""

    signature: HeadSignature
    heads: list[Candidate]
    code: int
    key: object
    """What tells them from all others."""


@dataclass
class LineAids:
    """The accessories of a catalog that make a line level."""

    rows: list[tuple[Any, ...]]
    sweeps: Sweeps
    scoring: Scoring
    k: int
    _kin: dict[Kin, list[Candidate]] = field(default_factory=dict)
    _made: dict[object, list[Candidate]] = field(default_factory=dict)
    _aids: dict[Features | None, list[Candidate]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.rows)

    @cached_property
    def _signatures(self) -> list[LineAid]:
        """What they make of a head unit's outputs."""
        return list(dict.fromkeys(map(aid_signature, self.rows)))

    def _leading(self) -> list[tuple[Any, ...]]:
        """Of those that make the same and need the same the ones that may stand in one of the k best packages."""
        key = ("leading line aids", self.k, self.scoring.wishes, tuple(row[0] for row in self.rows))
        rows: list[tuple[Any, ...]] = self.sweeps.once(key, self._best_of_alike)
        return rows

    def _best_of_alike(self) -> list[tuple[Any, ...]]:
        alike: dict[object, list[tuple[Any, ...]]] = {}
        for row in self.rows:
            alike.setdefault((aid_signature(row), None if row[4] is None else tuple(sorted(row[4]))), []).append(row)
        kept = (leading([accessory(row, FITS, (), self.scoring) for row in rows], self.k) for rows in alike.values())
        names = {one.part_id for some in kept for one in some}
        return [row for row in self.rows if row[0] in names]

    @property
    def most_points(self) -> int:
        """The most points that one of them adds to its head unit: they cost money, and earn nothing by themselves."""
        return 0

    @property
    def needs(self) -> Features:
        """The features of a head unit that count with them."""
        return tuple(sorted({word for row in self.rows for word in row[4] or ()} - set(OUTPUTS)))

    def lines(self, heads: Iterable[HeadSignature], amplifiers: Iterable[AmplifierSignature]) -> Iterator[Line]:
        """Every pairing of head unit, accessory and amplifier that may be asked about."""
        amplifiers = list(amplifiers)
        return (line_of(head, amp, aid) for head in heads for amp in amplifiers for aid in self._signatures)

    def helped(
        self, heads: Sequence[Candidate], amplifiers: Sequence[AmplifierSignature], codes: Mapping[Line, int]
    ) -> Iterator[Helped]:
        """Head units alike with an accessory that betters their line to some amplifiers, with what is said of it."""
        if not self.rows:
            return
        told: dict[object, int] = {}

        def code_of(head: HeadSignature, aid: LineAid | None) -> int:
            key = (outputs_of(head), aid)  # all that a line hangs on
            if key not in told:
                told[key] = min(codes[line_of(head, amp, aid)] for amp in amplifiers)
            return told[key]

        for (head, has), group in self._groups(heads).items():
            plain = code_of(head, None)
            for aid in self._aids[has] if plain < FITS else ():
                code = code_of(head, aid.signature)  # type: ignore[arg-type]
                if code > plain:
                    key = ((head, has), aid.name)
                    yield Helped(head, self._with(group, key, aid), code, key)

    def _with(self, group: Sequence[Candidate], key: object, aid: Candidate) -> list[Candidate]:
        """Head units with an accessory, made once."""
        if key not in self._made:
            self._made[key] = [replace(one, along=(*one.along, aid)) for one in group]
        return self._made[key]

    def _groups(self, heads: Sequence[Candidate]) -> dict[Kin, list[Candidate]]:
        """The head units that matter, by what they are to these accessories; read once."""
        if not self._kin:
            needed = set(self.needs)
            kin: dict[Kin, list[Candidate]] = {}
            for one in heads:
                has = tuple(sorted((one.features or frozenset()) & needed))
                kin.setdefault((head_signature(one), None if one.features is None else has), []).append(one)
            self._kin = {key: leading(group, self.k) for key, group in kin.items()}
            self._aids = self._ask(list(dict.fromkeys(has for _, has in kin)))
        return self._kin

    def _ask(self, owned: list[Features | None]) -> dict[Features | None, list[Candidate]]:
        """By features of a head unit: the accessories that have what they need there, the best of those alike."""
        rows = self._leading()
        codes = needs_codes(self.sweeps.con, [row[0] for row in rows], owned, self.sweeps.settings)
        found: dict[Features | None, list[Candidate]] = {}
        for has in owned:
            alike: dict[LineAid, list[Candidate]] = {}
            for row in (row for row in rows if (has, row[0]) in codes):
                aid, gives = aid_signature(row), tuple(row[3] or ())
                one = accessory(row, codes[has, row[0]], gives, self.scoring, aid)
                alike.setdefault(aid, []).append(one)
            found[has] = [one for group in alike.values() for one in leading(group, self.k)]
        return found


def line_aids(sweeps: Sweeps, scoring: Scoring, k: int) -> LineAids:
    """Every accessory of the catalog that makes a line level."""
    return LineAids(sweeps.once("line aids", lambda: _sweep(sweeps.con)), sweeps, scoring, k)


def _sweep(con: Connection) -> list[tuple[Any, ...]]:
    kinds = ", ".join(f"'{kind}'" for kind in LINE_KINDS)
    return con.execute(f"SELECT {COLUMNS}, kind FROM accessory WHERE kind IN ({kinds}) ORDER BY part_id").fetchall()


def aid_signature(row: Sequence[Any]) -> LineAid:
    """What an accessory makes of a head unit's outputs, by its kind and the level that it gives."""
    stated = [Decimal(found[1]) for word in row[3] or () if (found := LEVEL.fullmatch(word))]
    return LineAid(row[6], max(stated, default=None))
