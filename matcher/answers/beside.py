"""Film and security in a package: checks by their rules, and facts about the chosen layers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from catalog_schema.answers import Check
from matcher.kernel.columns import columns_of
from matcher.rules.film import FILM
from matcher.rules.rule import rules_of
from matcher.rules.security import SECURITY
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.vehicle import subject_columns
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion
from matcher.store.database.connection import records


def beside_checks(catalog: Catalog, question: JobQuestion, fitted: Sequence[PackageCandidate]) -> list[Check]:
    """Check every pane that gets film, then the routes that the layers cover together."""
    some = [one.candidate for one in fitted]
    found = [check for one in some if one.slot == "film" for check in film_checks(catalog, question, one)]
    return found + security_checks(catalog, question, [one for one in some if one.slot == "security"])


def film_checks(catalog: Catalog, question: JobQuestion, film: Candidate) -> list[Check]:
    """Check each filmed pane against the limit entered for it."""
    vehicle = question.job.vehicle_id
    panes = [row for row in catalog.vehicle(vehicle).panes if row["pane"] in film.covers]
    if not panes:
        return []
    columns = subject_columns("pane", panes, catalog.settings) | catalog.part("film", str(film.part_id), "film")
    every = zip(panes, catalog.explain(rules_of(FILM), columns, len(panes)), strict=True)
    checked = ((str(pane["pane"]), check) for pane, checks in every for check in checks)
    return [
        replace(check, about=pane, missing=[_kept_at(name, vehicle, pane, film) for name in check.missing])
        for pane, check in checked
    ]


def _kept_at(name: str, vehicle: str, pane: str, film: Candidate) -> str:
    subject, _, field = name.partition(".")
    return f"vehicle:{vehicle}.panes.{pane}.{field}" if subject == "pane" else f"part:{film.part_id}.{field}"


def security_checks(catalog: Catalog, question: JobQuestion, layers: list[Candidate]) -> list[Check]:
    """Check the routes that a package's layers cover, if any are wanted."""
    wanted = set(question.routes)
    if not wanted or not layers:
        return []
    dark = [one for one in layers if one.unsure]
    covered = None if dark else len(set().union(*(one.covers for one in layers)))
    columns = columns_of("guard", [{"covered": covered, "wanted": len(wanted)}])
    (checks,) = catalog.explain(rules_of(SECURITY), columns)
    missing = [f"part:{one.part_id}.covers" for one in dark]
    return [replace(check, about="security", missing=missing) for check in checks]


def layer_facts(catalog: Catalog, names: Sequence[str]) -> list[dict[str, Any]]:
    """Return the owner's duties for security layers, and the layers that work without the car's battery."""
    statement = (
        "SELECT part_id, effort, own_battery, cuts_circuit, covers FROM security "
        "WHERE part_id IN (SELECT unnest(?::VARCHAR[])) ORDER BY part_id"
    )
    return records(catalog.con, statement, list(names))
