"""Checks of every request and response: sizes, sessions, the password, and browser policies."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from matcher.web.auth import SESSION_S, Auth
from matcher.web.server_names import is_our_name
from matcher.web.texts import TEXTS

COOKIE = "boltback"
MOST_BYTES = 1_000_000
"""Forms are limited to a few kilobytes."""
MOST_UPLOAD_BYTES = 300_000_000
"""Lists are limited to about 200 MB: a million parts."""
UPLOADS = frozenset({"/catalog/send"})
STRANGERS = ("/static/", "/see/")
"""Pages that need no visitor."""
OPEN = ("/sign-in", *STRANGERS)
"""Pages shown without the password: sign-in, the page's style, and a customer's own proposal."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'; manifest-src 'self'"
)
PAPER_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'"
"""A paper is one file including its style; scripts are blocked."""
CUSTOMER_POLICY = f"{PAPER_POLICY}; form-action 'self'"
"""A customer's page is a paper with a form."""
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(), geolocation=()",
}


class TooLargeError(Exception):
    """The body is larger than its path allows."""


class Access:
    """Checks requests before the screens: size, origin, visitor, password."""

    def __init__(self, app: ASGIApp, auth: Auth, names: frozenset[str]) -> None:
        self.app = app
        self.auth = auth
        self.names = names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        cookie = HTTPConnection(scope).cookies.get(COOKIE, "")
        known = cookie if 20 < len(cookie) < 100 else None
        visitor = known or self.auth.new_visitor()
        scope.setdefault("state", {})["visitor"] = visitor
        answer = self._refusal(scope, visitor) or self.app
        await answer(scope, _Counted(scope, receive), _Sender(scope, send, None if known else visitor))

    def _refusal(self, scope: Scope, visitor: str) -> ASGIApp | None:
        """The refusal of a request, if any."""
        headers, path = Headers(scope=scope), scope["path"]
        if not is_our_name(headers.get("host", ""), self.names):
            return PlainTextResponse(TEXTS("refused.host"), 400)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return PlainTextResponse(TEXTS("refused.method"), 405, {"allow": "GET, HEAD, POST"})
        if _length(headers) > most_bytes(path):
            return PlainTextResponse(TEXTS("refused.too_large"), 413)
        if scope["method"] == "POST" and _is_from_elsewhere(headers):
            return PlainTextResponse(TEXTS("refused.elsewhere"), 403)
        if not path.startswith(OPEN) and not self.auth.is_in(visitor):
            asked = f"{path}?{scope['query_string'].decode('latin-1')}".rstrip("?") if scope["method"] == "GET" else "/"
            return RedirectResponse(f"/sign-in?next={quote(asked, safe='')}", 303)
        return None


def most_bytes(path: str) -> int:
    """Largest body that a path accepts."""
    return MOST_UPLOAD_BYTES if path in UPLOADS else MOST_BYTES


def _length(headers: Headers) -> int:
    length = headers.get("content-length", "0")
    return int(length) if length.isascii() and length.isdigit() else 0


def _is_from_elsewhere(headers: Headers) -> bool:
    """Whether the browser says that another site sent the form."""
    origin = headers.get("origin")
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return True
    return origin is not None and urlsplit(origin).netloc != headers.get("host")


def set_cookie(answer: Response, scope: Scope, value: str, name: str = COOKIE, max_age: int = SESSION_S) -> None:
    """Set a cookie, by default the visitor's id: hidden from scripts, and not sent by other sites."""
    answer.set_cookie(name, value, max_age, secure=scope["scheme"] == "https", httponly=True, samesite="lax")


class _Counted:
    """The request's body, refused when it grows too large, whatever its headers say."""

    def __init__(self, scope: Scope, receive: Receive) -> None:
        self.most, self.receive, self.taken = most_bytes(scope["path"]), receive, 0

    async def __call__(self) -> Message:
        message = await self.receive()
        self.taken += len(message.get("body", b""))
        if self.taken > self.most:
            raise TooLargeError
        return message


class _Sender:
    """The response, with headers for all responses."""

    def __init__(self, scope: Scope, send: Send, visitor: str | None) -> None:
        self.scope, self.send, self.visitor = scope, send, visitor

    async def __call__(self, message: Any) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if not self.scope["path"].startswith("/static/"):
                headers.setdefault("cache-control", "no-store")
            is_known = self.visitor is None or self.scope["path"].startswith(STRANGERS)
            if not is_known and "set-cookie" not in headers:
                set_cookie(answer := Response(), self.scope, self.visitor or "")
                headers.append("set-cookie", answer.headers["set-cookie"])
        await self.send(message)
