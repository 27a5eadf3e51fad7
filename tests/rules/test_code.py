"""What a rule says is the same in a sweep and in a check of one part, whatever is known."""

from __future__ import annotations

from itertools import product

import pytest

from matcher.rules.rule import rule_named
from tests.factories import Bench

FIGURES = (None, "-2", "-1.5", "0", "1.4", "1.5", "3")
TOLS = ("0", "1.5")
ANSWERS = (None, True, False)

# with a bound, with a condition that may be open, with both, with one that is always plain, with neither
KINDS = ("speaker.depth", "dash.support_mass", "speaker.hole_height", "speaker.bolt_circle", "speaker.front")


@pytest.mark.parametrize("name", KINDS)
def test_sweep_and_check_agree(bench: Bench, name: str) -> None:
    rule = rule_named(name)
    whens = (True,) if rule.when is None else (True, False) if rule.when.is_certain else ANSWERS
    bounds = (True, False) if rule.bound else (False,)
    column = rule.column
    for have, tol, when, bound in product(FIGURES, TOLS, whens, bounds):
        row = (
            f"SELECT ?::DECIMAL(15,6) AS {column}_have, 0::DECIMAL(15,6) AS {column}_need, "
            f"?::DECIMAL(15,6) AS {column}_tol, ?::BOOLEAN AS {column}_when, ?::BOOLEAN AS {column}_bound"
        )
        margin, need, band, asked, open_end = bench.con.execute(row, [have, tol, when, bound]).fetchall()[0]
        found = bench.con.execute(f"SELECT {rule.code_sql()} FROM ({row})", [have, tol, when, bound]).fetchall()
        assert found == [(rule.code(margin, need, band, asked, open_end),)], (have, tol, when, bound)
