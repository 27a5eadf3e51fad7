"""What was found of unknown figures, and who wins then: tried one by one."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from itertools import combinations, product

from catalog_schema.whys import Brief
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.question import question_of
from matcher.search.ranking import best_of
from matcher.shop.base import shop_settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.readings.subjects import split_figure
from tests.factories import Bench
from tests.supposed import supposed

Values = Mapping[str, list[Decimal]]
"""Figures that nobody has taken, each with values on either side of all that decide."""

ORDERED = ("head_unit", "speaker", "amplifier", "bass_amplifier", "bass", "enclosure")


def winner(bench: Bench, figures: Mapping[str, object]) -> list[str | None]:
    """The parts of the best package with some figures read so; none where there is no package."""
    with supposed(bench.con, figures):
        catalog = Catalog(bench.con, shop_settings(bench.con))
        question = question_of(catalog, stored_job(bench.con, "j1"))
        field = gather_field(catalog, question, CandidatePass(1))
        best = best_of(field, sum_limits(question, question.job.limits.budget))
    what = [] if best is None else [one.candidate for one in best.fitted]
    return sorted((one.part_id for one in what if one.slot in ORDERED), key=str)


def parts_told(package: Brief | None) -> list[str | None]:
    """The same parts of a package that is told."""
    lines = [] if package is None else package.lines
    return sorted((line.part_id for line in lines if line.slot in ORDERED), key=str)


def pivotal(bench: Bench, values: Values, *, of_one: bool = False) -> set[str]:
    """The figures in any smallest set of findings, about one part only if asked so, that makes another package win."""
    now, changing = winner(bench, {}), list[dict[str, Decimal]]()
    for names in (names for size in range(1, len(values) + 1) for names in combinations(values, size)):
        if of_one and len({split_figure(name)[0] for name in names}) > 1:
            continue
        for found in product(*(values[name] for name in names)):
            findings = dict(zip(names, found, strict=True))
            if not any(known.items() <= findings.items() for known in changing) and winner(bench, findings) != now:
                changing.append(findings)
    return {name for findings in changing for name in findings}
