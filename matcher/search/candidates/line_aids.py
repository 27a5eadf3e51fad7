"""Accessories that make a line level: drivers that lift a head unit's, converters that make one of loudspeaker outputs.

At most one hangs on a head unit, and only where the rules say better of the line with it than without. How
exactly k best are found: a head unit is left out beside one of them where k others of its signature always beat
it with the very same one, and one of them where k others that do the same always beat it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
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
from matcher.search.candidates.best_few import Entry, undominated
from matcher.search.feeds.parts import Candidate, HeadSignature, LineAid, head_signature
from matcher.search.fits.sweep import Sweeps
from matcher.search.scoring import Scoring
from matcher.store.connection import Connection

LEVEL = re.compile(r"line_(\d+(?:\.\d+)?)v")
"""How an accessory's `gives` names the most volts that it can be set to: ``line_8v``, ``line_2.5v``."""

Kin = tuple[HeadSignature, Features | None]
"""Head units that are one to these accessories: by what they are to the system, and by the features that count."""


@dataclass
class LineAids:
    """The accessories of a catalog that make a line level."""

    rows: list[tuple[Any, ...]]
    sweeps: Sweeps
    scoring: Scoring
    k: int
    _aids: dict[Features | None, dict[LineAid, list[Candidate]]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.rows)

    @cached_property
    def signatures(self) -> list[LineAid]:
        """What they make of a head unit's outputs."""
        return list(dict.fromkeys(map(aid_signature, self.rows)))

    def _leading(self) -> list[tuple[Any, ...]]:
        """Of those that make the same and need the same the ones that may stand in one of the k best packages."""
        key = ("leading line aids", self.k, self.scoring.wishes, tuple(row[0] for row in self.rows))
        rows: list[tuple[Any, ...]] = self.sweeps.once(key, self._best_of_alike)
        return rows

    def _best_of_alike(self) -> list[tuple[Any, ...]]:
        key = ("cheap line aids", self.k, tuple(row[0] for row in self.rows))
        rows: list[tuple[Any, ...]] = self.sweeps.once(key, self._cheap)
        alike: dict[object, list[Candidate]] = {}
        for row in rows:
            alike.setdefault(_kind_of(row), []).append(accessory(row, FITS, (), self.scoring))
        names = {one.part_id for some in alike.values() for one in leading(some, self.k)}
        return [row for row in rows if row[0] in names]

    def _cheap(self) -> list[tuple[Any, ...]]:
        """Those that may lead, whatever is wished for: of what is alike and as open no dearer one has more points."""
        alike: dict[object, list[Entry]] = {}
        for row in self.rows:
            one = accessory(row, FITS, (), self.scoring)
            entry = Entry(0, one.cents, one.uses, one.name, row)
            alike.setdefault((_kind_of(row), one.is_open), []).append(entry)
        names = {entry.name for some in alike.values() for entry in undominated(some, self.k)}
        return [row for row in self.rows if (row[0], "") in names]

    @property
    def needs(self) -> Features:
        """The features of a head unit that count with them."""
        return tuple(sorted({word for row in self.rows for word in row[4] or ()} - set(OUTPUTS)))

    def kin(self, heads: Sequence[Candidate]) -> dict[Kin, list[Candidate]]:
        """The head units that matter, by what they are to these accessories."""
        needed, kin = set(self.needs), dict[Kin, list[Candidate]]()
        for one in heads:
            has = None if one.features is None else tuple(sorted(one.features & needed))
            kin.setdefault((head_signature(one), has), []).append(one)
        new = [has for has in dict.fromkeys(has for _, has in kin) if has not in self._aids]
        if new:
            self._aids |= self._ask(new)
        return {key: leading(group, self.k) for key, group in kin.items()}

    def offered(self, has: Features | None) -> dict[LineAid, list[Candidate]]:
        """The accessories that go with head units of these features, by what they make of the line."""
        return self._aids[has]

    def _ask(self, owned: list[Features | None]) -> dict[Features | None, dict[LineAid, list[Candidate]]]:
        """By features of a head unit: the accessories that have what they need there, the best of those alike."""
        rows, codes = self._leading(), self._codes(owned)
        found: dict[Features | None, dict[LineAid, list[Candidate]]] = {}
        for has in owned:
            alike: dict[LineAid, list[Candidate]] = {}
            for row in rows:
                if (code := codes.get((has, self._asked[_needs_of(row)]))) is not None:
                    aid, gives = aid_signature(row), tuple(row[3] or ())
                    alike.setdefault(aid, []).append(accessory(row, code, gives, self.scoring, aid))
            found[has] = {aid: leading(group, self.k) for aid, group in alike.items()}
        return found

    def _codes(self, owned: list[Features | None]) -> dict[tuple[Features | None, str], int]:
        """What the rules say of one of those that need the same, behind head units with these features."""
        names = list(self._asked.values())
        codes: dict[tuple[Features | None, str], int] = self.sweeps.once(
            ("accessory needs", tuple(names), tuple(owned)),
            lambda: needs_codes(self.sweeps.con, names, owned, self.sweeps.settings),
        )
        return codes

    @cached_property
    def _asked(self) -> dict[object, str]:
        """For whatever they need one that needs it: the rules say the same of all of them."""
        return {_needs_of(row): row[0] for row in self.rows}


def _needs_of(row: Sequence[Any]) -> tuple[str, Features | None]:
    """All that the rules hold against a head unit: the kind, and what it needs."""
    return row[6], None if row[4] is None else tuple(sorted(row[4]))


def _kind_of(row: Sequence[Any]) -> tuple[LineAid, Features | None]:
    """What tells an accessory from others: what it makes, and what it needs."""
    return aid_signature(row), _needs_of(row)[1]


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
