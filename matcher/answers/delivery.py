"""Delivery times of a package's parts against the number of days that its job allows."""

from __future__ import annotations

from catalog_schema.answers import Check
from matcher.answers.figures import kept_where
from matcher.rules.rule import rules_of
from matcher.rules.wanted import DELIVERY
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.wishes import MOST_PIECES, delivery_columns
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion


def delivery_checks(catalog: Catalog, question: JobQuestion, fitted: list[PackageCandidate]) -> list[Check]:
    """Check the delivery time of each part; empty if the job has no deadline."""
    days = question.job.limits.deliver_within_days
    if days is None:
        return []
    names = {name for one in fitted for name in (one.candidate.part_id, one.candidate.adapter_id) if name is not None}
    names -= {one.part_id for one in question.job.owned}
    families = catalog.con.execute(
        "select part_id, family from part where part_id in (select unnest(?::varchar[])) order by part_id",
        [sorted(names)],
    ).fetchall()
    found = []
    for part_id, family in families:
        parts = catalog.parts(family)
        some = parts.take(parts.rows([part_id]))
        (checks,) = catalog.explain(
            rules_of(DELIVERY), some.columns | delivery_columns(some, days, MOST_PIECES.get(family, 1))
        )
        found += [kept_where(check, part_id, {"part": f"part:{part_id}"}) for check in checks]
    return found
