"""Line-level accessories: drivers raise a head unit's level, converters make one from loudspeaker outputs.

At most one is added to a head unit, and only if it improves the verdict of the line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from matcher.kernel.distinct import Numbers
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.accessories import LINE_KINDS, Accessories, accessories_of, needs_codes
from matcher.search.candidates.goods import of_kind
from matcher.search.candidates.head_units import Features
from matcher.search.candidates.table import CandidateTable, MadeWhenAsked
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate, LineAid
from matcher.search.scoring import NOT_KNOWN, Scoring

LEVEL = re.compile(r"line_(\d+(?:\.\d+)?)v")
"""Pattern in an accessory's `gives` for its maximum voltage: ``line_8v``, ``line_2.5v``."""


@dataclass
class LineAids:
    """The line-level accessories of a catalog."""

    accessories: Accessories
    rows: Numbers
    signatures: list[LineAid]
    """Line level made from a head unit's outputs."""
    makes: Numbers
    """Index into `signatures`, by row."""
    scoring: Scoring
    _offered: dict[Features | None, list[CandidateTable]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.rows)

    def only(self, part_id: str) -> LineAids:
        """Return only one of them."""
        own = self.accessories.parts.part_ids[self.rows] == part_id
        return LineAids(self.accessories, self.rows[own], self.signatures, self.makes[own], self.scoring)

    @property
    def needs(self) -> Features:
        """Features of a head unit that matter to them."""
        return tuple(sorted({word for row in self.rows for word in self.accessories.given(row)[1] or ()}))

    def offered(self, has: Features | None) -> list[CandidateTable]:
        """Return the accessories for head units with some features, by index into `signatures`; None: unknown."""
        if has not in self._offered:
            needs = [self.accessories.given(row)[1] for row in self.rows.tolist()]
            by_needs = needs_codes([has], list(set(needs)), self.scoring.settings)
            codes = np.array([by_needs[has, some] for some in needs], np.int64)
            makes = ((codes != NO) & (self.makes == at) for at in range(len(self.signatures)))
            self._offered[has] = [self._table(np.flatnonzero(some), codes) for some in makes]
        return self._offered[has]

    def _table(self, some: Numbers, codes: Numbers) -> CandidateTable:
        rows, goods = self.rows[some], self.accessories.goods
        code, nothing = codes[some], np.zeros(len(some), np.int64)
        whole = np.minimum(code, goods.drain_code[rows])

        def make(at: int) -> Candidate:
            row, signature = int(rows[at]), self.signatures[self.makes[some[at]]]
            gives = self.accessories.given(row)[0]
            return self.accessories.candidate(row, int(codes[some[at]]), self.scoring, gives, signature=signature)

        return CandidateTable(
            points=self.scoring.price(goods.cents[rows]) + self.scoring.losses[whole],
            cents=goods.cents[rows],
            uses=np.stack([goods.drain_ua[rows], nothing, nothing], axis=1),
            code=code,
            open=whole != FITS,
            group=nothing,
            classes=[None],
            level=np.full(len(some), NOT_KNOWN, np.int64),
            goods=rows,
            candidates=MadeWhenAsked(len(some), make),
        )


def line_aids(catalog: Catalog, scoring: Scoring) -> LineAids:
    """Return every line-level accessory of the catalog."""

    def find() -> tuple[Accessories, Numbers, list[LineAid], Numbers]:
        every = accessories_of(catalog)
        rows = np.flatnonzero(of_kind(every.parts, *LINE_KINDS))
        made = [aid_signature(every.kind(row), every.given(row)[0]) for row in rows.tolist()]
        signatures = list(dict.fromkeys(made))
        return every, rows, signatures, np.array([signatures.index(one) for one in made], np.int64)

    found: tuple[Accessories, Numbers, list[LineAid], Numbers] = catalog.once("line aids", find)
    return LineAids(*found, scoring)


def aid_signature(kind: str | None, gives: Sequence[str]) -> LineAid:
    """Line level of an accessory, by its kind and its voltage."""
    stated = [Decimal(found[1]) for word in gives if (found := LEVEL.fullmatch(word))]
    return LineAid(str(kind), max(stated, default=None))
