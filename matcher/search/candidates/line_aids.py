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

import numpy as np

from matcher.rules.rule import FITS, NO
from matcher.search.candidates.accessories import (
    LINE_KINDS,
    OUTPUTS,
    Accessory,
    Features,
    accessories_of,
    accessory,
    leading,
    needs_codes,
)
from matcher.search.candidates.goods import leading_rows, of_kind
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate, HeadSignature, LineAid, head_signature
from matcher.search.scoring import Scoring

LEVEL = re.compile(r"line_(\d+(?:\.\d+)?)v")
"""How an accessory's `gives` names the most volts that it can be set to: ``line_8v``, ``line_2.5v``."""

Kin = tuple[HeadSignature, Features | None]
"""Head units that are one to these accessories: by what they are to the system, and by the features that count."""


@dataclass
class LineAids:
    """The accessories of a catalog that make a line level."""

    rows: list[Accessory]
    cheap: list[Accessory]
    """Of them those that may stand in one of the k best packages, whatever is wished for."""
    scoring: Scoring
    k: int
    _aids: dict[Features | None, dict[LineAid, list[Candidate]]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.rows)

    def only(self, part_id: str) -> LineAids:
        """One of them alone."""
        some = [row for row in self.rows if row.part_id == part_id]
        return LineAids(some, some, self.scoring, 1)

    @cached_property
    def signatures(self) -> list[LineAid]:
        """What they make of a head unit's outputs."""
        return list(dict.fromkeys(map(aid_signature, self.rows)))

    @cached_property
    def _leading(self) -> list[Accessory]:
        """Of those that make the same and need the same the ones that may stand in one of the k best packages."""
        alike: dict[object, list[Candidate]] = {}
        for row in self.cheap:
            alike.setdefault(_kind_of(row), []).append(accessory(row, FITS, (), self.scoring))
        names = {one.part_id for some in alike.values() for one in leading(some, self.k)}
        return [row for row in self.cheap if row.part_id in names]

    @property
    def needs(self) -> Features:
        """The features of a head unit that count with them."""
        return tuple(sorted({word for row in self.rows for word in row.needs or ()} - set(OUTPUTS)))

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
        rows = self._leading
        codes = needs_codes(owned, list({row.needed for row in rows}), self.scoring.settings)
        found: dict[Features | None, dict[LineAid, list[Candidate]]] = {}
        for has in owned:
            alike: dict[LineAid, list[Candidate]] = {}
            for row in rows:
                if (code := codes[has, row.needed]) != NO:
                    aid = aid_signature(row)
                    alike.setdefault(aid, []).append(accessory(row, code, row.gives or (), self.scoring, aid))
            found[has] = {aid: leading(group, self.k) for aid, group in alike.items()}
        return found


def _kind_of(row: Accessory) -> tuple[LineAid, Features | None]:
    """What tells an accessory from others: what it makes, and what it needs."""
    return aid_signature(row), row.needed


def line_aids(catalog: Catalog, scoring: Scoring, k: int) -> LineAids:
    """Every accessory of the catalog that makes a line level."""

    def read() -> list[Accessory]:
        return accessories_of(catalog, np.flatnonzero(of_kind(catalog.parts("accessory"), *LINE_KINDS)))

    rows: list[Accessory] = catalog.once("line aids", read)
    leading = leading_rows(catalog, "accessory", ("kind", "gives", "needs"), k)
    names = set(catalog.parts("accessory").part_ids[leading].tolist())
    return LineAids(rows, [row for row in rows if row.part_id in names], scoring, k)


def aid_signature(row: Accessory) -> LineAid:
    """What an accessory makes of a head unit's outputs, by its kind and the level that it gives."""
    stated = [Decimal(found[1]) for word in row.gives or () if (found := LEVEL.fullmatch(word))]
    return LineAid(str(row.kind), max(stated, default=None))
