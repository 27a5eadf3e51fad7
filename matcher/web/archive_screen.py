"""Archiving: everything archived, and dependents before something is archived or deleted."""

from __future__ import annotations

from functools import partial

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher.errors import InputError
from matcher.web.pages import asked, go, shop_of, show, single, subject_label, who


def archive(request: Request) -> Response:
    """Everything archived, or the dependents of one thing."""
    return _archive(request, asked(request, "subject"))


def _archive(request: Request, subject: str, error: InputError | None = None) -> Response:
    shop = shop_of(request)
    archived = shop.archive.all() if shop.store.exists() else []
    held = shop.archive.dependents(subject) if subject else []
    facts = {
        "subject": subject,
        "called": partial(subject_label, shop),
        "hanging": held,
        "archived": archived,
        "error": error,
    }
    return show(request, "archive.html", 400 if error else 200, **facts)


def put_away(request: Request, form: FormData) -> Response:
    """Archive, restore or delete a thing."""
    shop, subject, act = shop_of(request), single(form, "subject"), single(form, "do")
    try:
        if act == "delete":
            shop.archive.delete(subject, note=single(form, "note"), by=who(request))
        elif act == "unarchive":
            shop.archive.take_back(subject, by=who(request))
        else:
            shop.archive.put_away(subject, anyway=True, note=single(form, "note"), by=who(request))
    except InputError as error:
        return _archive(request, subject, error)
    return go("/archive")
