"""What the SQL of some rules reads of a subject, for the sweeps that still ask the database."""

from __future__ import annotations

import re
from collections.abc import Sequence

from matcher.rules.rule import FITS, NO, Rule
from matcher.search.fits.term_sql import rule_columns
from matcher.settings import Settings


def columns_read(subject: str, sql: str) -> tuple[str, ...]:
    """The columns of a subject that some SQL reads."""
    return tuple(dict.fromkeys(re.findall(rf'\b{subject}\."?(\w+)"?', sql)))


def rules_sql(rules: Sequence[Rule], settings: Settings) -> str:
    """SQL of all that some rules read of a row."""
    return ", ".join(rule_columns(rule, settings) for rule in rules)


def said_columns(bits: str, size: int) -> str:
    """SQL of the bits of all rows that their ``code`` does not refuse, as ``can``, and of those that it makes sure."""
    return (
        f"bit_or({bits}) FILTER (code != {NO}) AS can, "
        f"coalesce(bit_or({bits}) FILTER (code >= {FITS}), bitstring('0', {size})) AS sure"
    )
