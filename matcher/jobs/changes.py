"""Changes since a package was chosen: prices, parts, figures, rule checks, and a better package if there is one now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from catalog_schema.answers import Check, Package, worst
from catalog_schema.choices import ChangeKind, Choice, ChoiceChange, ChoiceChanges
from catalog_schema.jobs import LADDER, Job, step_rank
from matcher.answers.messages import check_says
from matcher.answers.packages import Describer
from matcher.jobs import messages as says
from matcher.jobs.choices import figures_of, part_rows, signs
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.fit import fit_part
from matcher.search.options import rank
from matcher.search.question import question_of, wished
from matcher.search.what_if.standing import parts_of, put_together
from matcher.settings import Settings
from matcher.store.catalog.held import holding_only
from matcher.store.catalog.owned import typed_parts
from matcher.store.database.connection import Connection
from matcher.store.database.stamps import catalog_version


@dataclass(frozen=True, slots=True)
class Today:
    """A chosen package, checked against today's catalog."""

    package: Package | None
    """The package with every rule evaluated again; None if it can no longer be built."""
    checks: Sequence[Check]
    """The package's checks; if it can no longer be built, the checks of each part at its opening."""
    withdrawn: Sequence[str]
    """Parts that are no longer in the catalog."""


def today_of(con: Connection, job: Job, choice: Choice, settings: Settings) -> Today:
    """Evaluate every rule of a chosen package again, without ranking."""
    names = parts_of(choice.package)
    withdrawn = sorted(names - {*part_rows(con, names), *typed_parts(con, names)})
    with holding_only(con, names):
        now = package_now(con, job, choice, settings)
        return Today(now, now.checks if now is not None else list(_fits_now(con, job, choice, settings)), withdrawn)


def changes_since(con: Connection, job: Job, choice: Choice, settings: Settings) -> ChoiceChanges:
    """Return every difference between a package as it was chosen and as it is now."""
    today = today_of(con, job, choice, settings)
    now, checks = today.package, today.checks
    with holding_only(con, parts_of(choice.package)):
        figures = list(_figure_changes(con, job, choice))
        prices = list(_price_changes(con, choice))
    better = better_now(con, job, choice, settings)
    job_name = f"job:{choice.job_id}"
    changes = [
        *(_change("withdrawn", f"part:{name}", "part_id", name, None) for name in today.withdrawn),
        *prices,
        *_labour_changes(choice, now),
        *figures,
        *([] if now is not None else [_change("lost", job_name, "package", "whole", None)]),
        *check_changes(choice.package.checks, checks),
        *([] if better is None else [_change("better", job_name, "package", None, "; ".join(signs(better)))]),
    ]
    return ChoiceChanges(
        job_id=choice.job_id,
        number=choice.number,
        catalog_then=choice.catalog_version,
        catalog_now=catalog_version(con),
        total_then=choice.package.price.total,
        total_now=None if now is None else now.price.total,
        verdict_then=choice.package.verdict,
        verdict_now="no" if now is None else worst([check.verdict for check in checks]),
        changes=[replace(change, says=says.change_says(change)) for change in changes],
        package=now,
        better=better,
    )


def package_now(con: Connection, job: Job, choice: Choice, settings: Settings) -> Package | None:
    """Return the chosen package with every rule evaluated again, on a catalog restricted to its parts.

    Results that only a ranking gives keep their values from the choice: points, trade-offs, alternatives, and the
    differences from the first package.
    """
    found = put_together(con, job, choice.package, settings)
    if found is None:
        return None
    catalog = wished(Catalog(con, settings), job)
    then = choice.package
    now = Describer(catalog, question_of(catalog, job)).package(found, choice.rank)
    return replace(
        now,
        score=then.score,
        criteria=then.criteria,
        tradeoffs=then.tradeoffs,
        differs=then.differs,
        alternatives=then.alternatives,
    )


def better_now(con: Connection, job: Job, choice: Choice, settings: Settings) -> Package | None:
    """Return the best package that ranks before the chosen one now but did not when it was chosen."""
    catalog = wished(Catalog(con, settings), job)
    ranked = rank(catalog, job, len(choice.ahead) + 1)
    describer = Describer(catalog, ranked.question)
    for place, found in enumerate(ranked.found, 1):
        package = describer.package(found, place)
        own = signs(package)
        if own == signs(choice.package):
            return None
        if own not in choice.ahead:
            return package
    return None


def _fits_now(con: Connection, job: Job, choice: Choice, settings: Settings) -> Iterator[Check]:
    """Yield the checks of each part at its opening, for a package that can no longer be built."""
    catalog = wished(Catalog(con, settings), job)
    for line in choice.package.lines:
        if line.part_id is None or line.opening_id is None or line.slot in ("bass", "enclosure", "board", "accessory"):
            continue
        step = LADDER[max(step_rank(line.alteration), 1)]
        fit = fit_part(catalog, line.part_id, job.vehicle_id, line.opening_id, line.adapter_id, step)
        for check in fit.checks:
            about = f"{line.opening_id}: {check.about}" if check.about else line.opening_id
            yield replace(check, about=about)


def _price_changes(con: Connection, choice: Choice) -> Iterator[ChoiceChange]:
    rows = part_rows(con, [part.part_id for part in choice.parts])
    for part in choice.parts:
        subject, row = f"part:{part.part_id}", rows[part.part_id]
        if part.price != row["price"]:
            yield _change("price", subject, "price", f"{part.price:.2f}", f"{row['price']:.2f}")
        if part.pack_of != (row["pack_of"] or 1):
            yield _change("figure", subject, "pack_of", f"{part.pack_of}", f"{row['pack_of'] or 1}")


def _labour_changes(choice: Choice, now: Package | None) -> Iterator[ChoiceChange]:
    then = choice.package.price.labour
    if now is not None and now.price.labour != then:
        yield _change("price", f"job:{choice.job_id}", "labour", f"{then:.2f}", f"{now.price.labour:.2f}")


def _figure_changes(con: Connection, job: Job, choice: Choice) -> Iterator[ChoiceChange]:
    then = {(one.subject, one.field): one for one in choice.figures}
    now = {(one.subject, one.field): one for one in figures_of(con, job.vehicle_id, choice.package)}
    for key in sorted(then.keys() | now.keys()):
        old, new = then.get(key), now.get(key)
        before, after = (None if one is None else (one.value, one.tol, one.measured) for one in (old, new))
        if before == after or key[1] == "pack_of":
            continue
        measured = new is not None and new.measured
        yield _change(
            "reading" if measured else "figure",
            *key,
            None if old is None else says.figure(old.value, old.tol),
            None if new is None else says.figure(new.value, new.tol),
        )


def check_changes(then: Iterable[Check], now: Iterable[Check]) -> Iterator[ChoiceChange]:
    """Yield the current checks whose result differs from before."""
    before = {(check.rule, check.about): check for check in then}
    after = {(check.rule, check.about): check for check in now}
    kinds: dict[str, ChangeKind] = {"no": "breaks", "fits": "clears", "measure": "opens"}
    for key, check in after.items():
        was = before.get(key)
        if was is None and check.verdict == "fits":
            continue
        if was is None or was.verdict != check.verdict:
            yield replace(
                _change(kinds[check.verdict], check.about or "whole", check.rule, _verdict(was), check.verdict),
                unit=check.unit,
                says=check.says or check_says(check),
            )


def _verdict(check: Check | None) -> str | None:
    return None if check is None else check.verdict


def _change(what: ChangeKind, subject: str, name: str, before: str | None, after: str | None) -> ChoiceChange:
    return ChoiceChange(what=what, subject=subject, name=name, before=before, after=after)
