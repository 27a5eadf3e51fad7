"""Verdict tables: what rules say of every part of a family against some other things, once for each set of figures."""

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
    """The worst that some rules say, by distinct set of a part's figures and by other thing."""

    codes: Codes
    """Shape (sets, others)."""
    number: Numbers
    """By part: the number of its set."""

    @property
    def by_part(self) -> Codes:
        """Shape (parts, others)."""
        return self.codes[self.number]


def verdict_table(
    rules: Sequence[Rule], parts: Parts, subject: str, others: Columns, count: int, settings: Settings
) -> VerdictTable:
    """Evaluate rules of a family's parts against some other things.

    Parameters
    ----------
    subject
        What the rules call the part.
    others
        All else that the rules read: `count` rows, or one that stands for all of them.
    """
    figures = [FigureTerm("part", one.field) for one in figures_of(tuple(rules)) if one.subject == subject]
    sets = parts.sets(figures)
    mine = Columns({f"{subject}.{one.field}": parts.columns[one] for one in figures}).take(sets.first)
    at = Evaluation(mine.down() | others.across(), settings)
    codes = np.broadcast_to(worst(rules, at), (len(sets.first), count))
    return VerdictTable(refused_or_not(codes), sets.number)
