"""Signing in and out, if the shop has a password."""

from __future__ import annotations

from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher.web.access import set_cookie
from matcher.web.pages import LONGEST_NAME, NAME_COOKIE, asked, auth_of, go, inside, show, single

YEAR_S = 365 * 24 * 3600


def sign_in(request: Request) -> Response:
    """The form for the password."""
    return show(request, "sign_in.html", next=inside(asked(request, "next")), wrong="", wait=0)


def let_in(request: Request, form: FormData) -> Response:
    """Check the password; an address with wrong attempts has to wait."""
    auth, address = auth_of(request), request.client.host if request.client else ""
    following = inside(single(form, "next"))
    wait = auth.attempts.begin(address)
    if wait:
        answer = show(request, "sign_in.html", 429, next=following, wrong="", wait=wait)
        answer.headers["retry-after"] = str(wait)
        return answer
    visitor = None
    try:
        visitor = auth.let_in(str(form.get("password") or ""))
    finally:
        auth.attempts.end(address, right=visitor is not None)
    if visitor is None:
        return show(request, "sign_in.html", 403, next=following, wrong="yes", wait=0)
    answer = go(following)
    set_cookie(answer, request.scope, visitor)
    return answer


def let_out(request: Request, form: FormData) -> Response:
    """Sign out."""
    auth_of(request).let_out(request.state.visitor)
    return go("/sign-in")


def name_page(request: Request) -> Response:
    """Form for the name at this counter, under which changes are logged."""
    return show(request, "name.html", next=inside(asked(request, "next")))


def set_name(request: Request, form: FormData) -> Response:
    """Save the name in this browser."""
    answer = go(inside(single(form, "next")))
    set_cookie(answer, request.scope, quote(single(form, "name")[:LONGEST_NAME]), NAME_COOKIE, YEAR_S)
    return answer
