"""What several rules say of a row, as one number: the worst of them is the least.

From the most significant: what the rule says; whether it compares lengths, which come before anything else; how
much its margin has over its tolerance, in millionths, with an unknown margin below all; its place among the rules.
"""

from __future__ import annotations

from collections.abc import Sequence

from matcher.rules.rule import FITS, MEASURE, Rule
from matcher.search.fits.term_sql import bound_sql, code_sql, stem
from matcher.search.matrix.kinds import Asking

WORD = 1 << 60
"""A key's share of what the rule says."""
OTHER = 1 << 59
"""Added where the rule compares no lengths."""
FAR = 1 << 48
NO_RULE = str((FITS + 1) * WORD)
"""SQL of the key where no rule applies."""
MOST_RULES = 256
"""More than there are rules in a question: a rule's place among them is what is left of a key."""
LIMIT = 0
"""Where the limit on alteration stands among the rules of a question."""
FREE, DOUBT = 127, 126
"""In one byte instead of the first rule that says no: that none does, and that none does but one wants measuring."""


def codes_sql(rules: Sequence[Rule]) -> str:
    """SQL of what each rule says, over its measured columns."""
    return ", ".join(f"{code_sql(rule)} AS {stem(rule)}_code" for rule in rules)


def margin_sql(rule: Rule) -> str:
    """SQL of a rule's margin, as a check tells it: none where a figure or a choice in it is not known."""
    column = stem(rule)
    margin = f"({column}_have - {column}_need)::DECIMAL(18,6)"
    doubts = [
        *([f"{column}_when IS NULL"] if rule.when else []),
        *([f"{column}_bound"] if bound_sql(rule.need) else []),
    ]
    if not doubts:
        return margin
    return f"CASE WHEN {column}_code = {MEASURE} AND ({' OR '.join(doubts)}) THEN NULL ELSE {margin} END"


def tol_sql(rule: Rule) -> str:
    """SQL of a rule's tolerance, as a check tells it."""
    return f"coalesce({stem(rule)}_tol, 0)::DECIMAL(18,6)"


def key_of(code: str, margin: str, tol: str, unit: str, at: int) -> str:
    """SQL of the key of something that a rule says."""
    room = f"round((({margin})::DOUBLE - ({tol})::DOUBLE) * 1e6)"
    # LEAST and GREATEST pass over what is unknown.
    ranked = f"CASE WHEN {margin} IS NULL THEN 0 ELSE greatest(least({room}, {FAR}), -{FAR})::BIGINT + {FAR + 1} END"
    kind = 0 if unit == "mm" else OTHER
    return f"(({code})::BIGINT * {WORD} + {kind} + ({ranked}) * {MOST_RULES} + {at})"


def worst_key(asking: Asking, rules: Sequence[Rule]) -> str:
    """SQL of the key of the worst of some rules, over `codes_sql`; of none it is a plain yes."""
    keys = [key_of(f"{stem(rule)}_code", margin_sql(rule), tol_sql(rule), rule.unit, asking.at(rule)) for rule in rules]
    return f"least({', '.join([*keys, NO_RULE])})"


def code_of(key: str) -> str:
    """SQL of what the rule of a key says; where no rule applied, that nothing speaks against it."""
    return f"least({key} // {WORD}, {FITS})"


def rule_at(key: str) -> str:
    """SQL of the place of a key's rule."""
    return f"({key} % {MOST_RULES})"


def first_of(refused: int | None, key: int) -> int:
    """What is said, in one byte: the first rule that says no, or what the worst says."""
    if refused is not None:
        return refused
    return DOUBT if key // WORD == MEASURE else FREE


def first_refusing(asking: Asking, rules: Sequence[Rule]) -> str:
    """SQL of the first of some rules that says no; null where none does."""
    cases = " ".join(f"WHEN {stem(rule)}_code = 0 THEN {asking.at(rule)}" for rule in rules)
    return f"CASE {cases} END" if rules else "NULL::INTEGER"


def told(asking: Asking, rules: Sequence[Rule], key: str, otherwise: str, sql: str) -> str:
    """SQL of the margin or the tolerance (``sql``: which) of the rule that a key names."""
    which = margin_sql if sql == "margin" else tol_sql
    cases = " ".join(f"WHEN {asking.at(rule)} THEN {which(rule)}" for rule in rules)
    if not cases:
        return otherwise
    return f"CASE {rule_at(key)} {cases} ELSE {otherwise} END"
