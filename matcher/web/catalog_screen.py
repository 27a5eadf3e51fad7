"""The catalog: search, lists, correction of rows, and earlier versions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.columns import family_columns
from catalog_schema.figures import unit_of_field
from catalog_schema.parts import FAMILIES
from matcher import Shop
from matcher.errors import BoltbackError, FileRefused, InputError, ListAsks, NotKnown
from matcher.lengths import shown_unit, with_unit
from matcher.store.catalog.search import FigureBound, bounded_columns
from matcher.store.catalog.supplier_terms import terms_say
from matcher.store.importing.report import LoadReport, TableRead
from matcher.store.lists.listing import fold
from matcher.store.mapping.proposals import ListQuestion
from matcher.web.fit_screen import measured
from matcher.web.list_form import ListForm, list_fields, list_units, read_list_form, shown_fills
from matcher.web.pages import asked, go, settings_of, shop_of, show, single, who, whole_number
from matcher.web.uploads import Uploads
from matcher.web.waiting import Tell, patiently

A_PAGE = 50


def uploads_of(request: Request) -> Uploads:
    """Uploaded lists."""
    uploads: Uploads = request.app.state.uploads
    return uploads


def catalog(request: Request) -> Response:
    """Parts with all of the words."""
    shop = shop_of(request)
    is_there = shop.store.exists()
    # Where a script swaps what was found, nobody looks at what the catalog holds: to count a million parts takes long.
    held = shop.catalog.holdings() if is_there and "hx-request" not in request.headers else []
    family = asked(request, "family") if asked(request, "family") in FAMILIES else None
    field = asked(request, "field")
    unit = shown_unit(unit_of_field(field) or "")
    bound = FigureBound(field, *(with_unit(asked(request, end), unit) for end in ("least", "most")))
    error, found = None, []
    try:
        bounds = [bound] if family and bound.field and (bound.least or bound.most) else []
        if is_there:
            after = asked(request, "after")
            found = shop.catalog.find(asked(request, "words"), family, bounds=bounds, after=after, limit=A_PAGE + 1)
    except InputError as wrong:
        error = wrong
    typed = {name: asked(request, name) for name in ("words", "family", "field", "least", "most")}
    return show(
        request,
        "catalog.html",
        400 if error else 200,
        held=held,
        suppliers=[one for one in shop.catalog.suppliers() if one.name] if held else [],
        terms_say=terms_say,
        own_currency=settings_of(request).word("currency"),
        is_empty=not held and "hx-request" not in request.headers,
        found=found[:A_PAGE],
        more=found[A_PAGE - 1].part_id if len(found) > A_PAGE else None,
        typed=typed,
        families=FAMILIES,
        fields=[column.name for column in bounded_columns(family)] if family else [],
        paged=bool(asked(request, "after")),
        error=error,
    )


def part(request: Request) -> Response:
    """One part: its figures, with the claims that readings replaced."""
    shop, name = shop_of(request), asked(request, "part")
    if f"part:{name}" in shop.archive.all():
        return go("/archive", subject=f"part:{name}")
    sheet = shop.catalog.part(name)
    shown = {name: value for name, value in sheet.figures.items() if not name.endswith("_tol")}
    tolerances = {name: sheet.figures.get(f"{name}_tol") for name in shown}
    read = measured(shop, f"part:{name}")
    return show(request, "part.html", sheet=sheet, figures=shown, tolerances=tolerances, measured=read)


def send(request: Request, form: FormData) -> Response:
    """Accept an uploaded list, and examine it."""
    upload = form.get("list")
    if not isinstance(upload, UploadFile) or not upload.filename:
        raise InputError("no list was sent", fix="choose a file, then send it")
    key = uploads_of(request).take(upload)
    return go("/catalog/list", key=key, family=single(form, "family") or None)


def look(request: Request) -> Response:
    """Preview of a list: its columns, and the result of loading it."""
    return _look(request, asked(request, "key"), ListForm(asked(request, "family")))


def _look(request: Request, key: str, typed: ListForm) -> Response:
    return patiently(request, key, partial(_looked_at, request, key, typed))


def _looked_at(request: Request, key: str, typed: ListForm, tell: Tell) -> Response:
    shop, uploads = shop_of(request), uploads_of(request)
    report: LoadReport | None = None
    error: BoltbackError | None = None
    tables: Sequence[TableRead] = ()
    questions: Sequence[ListQuestion] = ()
    try:
        report = _load(shop, uploads, key, typed, tell, dry_run=True)
        tables = report.tables
    except InputError as wrong:
        error = wrong
    if isinstance(error, ListAsks):
        found, questions = shop.catalog.understand(
            uploads.path(key), typed.family or None, columns=typed.fields, kinds=typed.kinds
        )
        tables, error = [one.shown() for one in found], None if questions else error
    return show(
        request,
        "list.html",
        400 if error else 200,
        key=key,
        name=uploads.path(key).name,
        typed=typed,
        families=FAMILIES,
        tables=tables,
        questions={(one.flag, fold(one.about)): one for one in questions},
        fields={table: list_fields(table) for table in tables},
        fills=shown_fills,
        units=list_units(),
        report=report,
        error=error,
    )


def _load(
    shop: Shop,
    uploads: Uploads,
    key: str,
    typed: ListForm,
    tell: Tell,
    *,
    dry_run: bool = False,
    complete: bool = False,
    by: str | None = None,
) -> LoadReport:
    with uploads.named(key) as path:
        return shop.catalog.load(
            path,
            family=typed.family or None,
            supplier=typed.supplier or None,
            prefix=typed.prefix or None,
            rate=typed.rate or None,
            complete=complete,
            dry_run=dry_run,
            by=by,
            columns=typed.fields,
            kinds=typed.kinds,
            tell=tell,
        )


def load(request: Request, form: FormData) -> Response:
    """Examine the list again with changes, or load it."""
    key, typed = single(form, "key"), read_list_form(form)
    if single(form, "do") != "load":
        return _look(request, key, typed)
    return patiently(request, key, partial(_loaded, request, key, typed, complete="complete" in form))


def _loaded(request: Request, key: str, typed: ListForm, tell: Tell, *, complete: bool) -> Response:
    shop, uploads = shop_of(request), uploads_of(request)
    try:
        report = _load(shop, uploads, key, typed, tell, complete=complete, by=who(request))
    except (FileRefused, ListAsks):
        return _looked_at(request, key, typed, tell)
    uploads.drop(key)
    return show(request, "loaded.html", report=report, kept=[])


def keep_emptied(request: Request, form: FormData) -> Response:
    """Keep the figures that a version emptied as readings."""
    version = whole_number(single(form, "version"), "version", least=1)
    kept = shop_of(request).catalog.keep_emptied(version, by=who(request))
    return show(request, "loaded.html", report=None, kept=kept)


def problems(request: Request) -> Response:
    """Rows to correct."""
    shop = shop_of(request)
    found = shop.catalog.problems() if shop.store.exists() else []
    start = whole_number(asked(request, "from") or "0", "row")
    more = start + A_PAGE if len(found) > start + A_PAGE else None
    return show(request, "problems.html", count=len(found), problems=found[start : start + A_PAGE], more=more)


def problem(request: Request) -> Response:
    """One row to correct: its original cells, its problems, and the boxes of its family."""
    return _problem(request, asked(request, "problem"), None)


def _problem(
    request: Request, number: str, typed: Mapping[str, str] | None, report: LoadReport | None = None
) -> Response:
    known = {str(kept.problem_id): kept for kept in shop_of(request).catalog.problems()}
    if number not in known:
        raise NotKnown("open problem", number[:40], [])
    kept = known[number]
    family = (typed or {}).get("family") or kept.row.family
    facts: dict[str, Any] = {
        "kept": kept,
        "family": family,
        "families": FAMILIES,
        "columns": family_columns(family) if family in FAMILIES else (),
        "typed": kept.row.fields if typed is None else typed,
        "faults": report.problems[0].faults if report and report.problems else kept.row.faults,
        "cells": list(zip([*kept.row.headers, *[""] * len(kept.row.cells)], kept.row.cells, strict=False)),
    }
    return show(request, "problem.html", 400 if report else 200, **facts)


def mend(request: Request, form: FormData) -> Response:
    """Load a corrected row, or discard it."""
    shop, number = shop_of(request), whole_number(single(form, "problem"), "open problem", least=1)
    if single(form, "do") == "drop":
        shop.catalog.drop_problems(number)
        return go("/catalog/problems")
    typed = {name.removeprefix("box:"): single(form, name) for name in form if name.startswith("box:")}
    report = shop.catalog.mend_problem(number, typed, by=who(request))
    if report.problems:
        fresh = [kept for kept in shop.catalog.problems() if kept.row.faults == report.problems[0].faults]
        return _problem(request, str(fresh[-1].problem_id if fresh else number), typed, report)
    return go("/catalog/problems")


def history(request: Request) -> Response:
    """Every version of the catalog, newest first."""
    shop = shop_of(request)
    found = shop.catalog.history() if shop.store.exists() else []
    return show(request, "history.html", versions=found[::-1], names=_names)


def _names(files: tuple[str, ...]) -> str:
    return ", ".join(Path(file).name for file in files)


def restore(request: Request, form: FormData) -> Response:
    """Restore an earlier version of the catalog as a new one, unless another was loaded in between."""
    shop, version = shop_of(request), single(form, "version")
    latest = max((one.version for one in shop.catalog.history()), default=0)
    if single(form, "latest") != str(latest):
        raise InputError("the catalog has a newer version than you saw", fix="look at the history again")
    shop.catalog.restore(whole_number(version, "version"), by=who(request))
    return go("/catalog/history")
