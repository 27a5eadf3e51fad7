"""The terms of a supplier's prices: cost or retail, markup, tax, currency, and prefix of part numbers."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher.errors import InputError, NotKnown
from matcher.store.catalog.supplier_terms import NAMES
from matcher.store.catalog.suppliers import Supplier
from matcher.web.pages import asked, go, settings_of, shop_of, show, single, who
from matcher.web.remarks import remark_of
from matcher.web.wording import figure


def supplier(request: Request) -> Response:
    """A supplier's current terms."""
    found = _found(request, asked(request, "supplier"))
    terms = {name: figure(getattr(found.terms, name)) for name in NAMES}
    tax = "with" if found.terms.with_tax else "without"
    return _supplier(request, found, terms | {"with_tax": tax, "prefix": found.id_prefix})


def _found(request: Request, name: str) -> Supplier:
    suppliers = {one.name: one for one in shop_of(request).catalog.suppliers()}
    if name not in suppliers:
        raise NotKnown("supplier", name, list(suppliers))
    return suppliers[name]


def _supplier(
    request: Request, found: Supplier, fields: Mapping[str, str], refused: InputError | None = None
) -> Response:
    boxes = {one.column: remark_of(InputError("", problems=[one])) for one in refused.problems} if refused else {}
    return show(
        request,
        "supplier.html",
        400 if refused else 200,
        supplier=found,
        f=fields,
        own_currency=settings_of(request).word("currency"),
        remarks=boxes,
        error=None if boxes else refused,
    )


def save_supplier(request: Request, form: FormData) -> Response:
    """Save the terms; prices follow them from now on."""
    found = _found(request, single(form, "supplier"))
    typed = {name: single(form, name) for name in (*NAMES, "prefix")}
    terms = {name: cell for name, cell in typed.items() if name in NAMES and (cell or name == "currency")}
    prefix = typed["prefix"] if typed["prefix"] != found.id_prefix else None
    try:
        shop_of(request).catalog.set_supplier(
            found.name, prefix=prefix, terms=terms | {"with_tax": typed["with_tax"] == "with"}, by=who(request)
        )
    except InputError as error:
        return _supplier(request, found, typed, error)
    return go("/catalog")
