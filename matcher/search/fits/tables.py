"""Verdict tables: verdicts of every part of a family against other things, once per set of figures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from matcher.kernel.columns import Columns
from matcher.kernel.distinct import Numbers
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import Codes, worst
from matcher.rules.rule import Rule, figures_of
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.parts import Parts
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings


class VerdictTable(NamedTuple):
    """Worst verdict code of some rules by distinct figure set of a part and by other thing."""

    codes: Codes
    """Shape (sets, others)."""
    number: Numbers
    """Number of the figure set, by part."""

    @property
    def by_part(self) -> Codes:
        """Shape (parts, others)."""
        return self.codes[self.number]


def verdict_table(
    rules: Sequence[Rule], parts: Parts, subject: str, others: Columns, count: int, settings: Settings
) -> VerdictTable:
    """Return the verdict table of a family's parts and some other things.

    Parameters
    ----------
    subject
        Subject of the part in the rules.
    others
        All other figures of the rules: `count` rows, or one that applies to all.
    """
    figures = [FigureTerm("part", one.field) for one in figures_of(tuple(rules)) if one.subject == subject]
    sets = parts.sets(figures)
    mine = Columns({f"{subject}.{one.field}": parts.columns[one] for one in figures}).take(sets.first)
    at = Evaluation(mine.down() | others.across(), settings)
    codes = np.broadcast_to(worst(rules, at), (len(sets.first), count))
    return VerdictTable(refused_or_not(codes), sets.number)
