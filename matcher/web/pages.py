"""Rendering of pages: templates with their functions, and error pages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager, nullcontext
from decimal import ROUND_CEILING
from functools import cache, partial, wraps
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from catalog_schema.kinds import is_printable
from catalog_schema.ladder import LADDER
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import shorten
from matcher import Shop
from matcher.answers.messages import amount, tradeoff_gains
from matcher.errors import BoltbackError, ChainGone, InputError, NotKnown, RankingLost, StoreBusy, StoreFault
from matcher.lengths import on_the_safe_side, shown_unit
from matcher.papers.numbers import Numbers
from matcher.settings import DEFAULT_SETTINGS, Settings
from matcher.web.auth import Auth
from matcher.web.wording import as_printed, box_label, figure, in_words, link, price_in, spare, text, word

HERE = Path(__file__).parent
MOST_FIELDS = 3_000


UNSENT: dict[type[Exception], str] = {StoreBusy: "busy", ChainGone: "chain_gone", RankingLost: "lost"}
"""Key prefixes of the texts for a refused form, by error."""


def unsent(error: Exception | None) -> str:
    """Reason to send a form again: one of these errors, or an outdated page."""
    return "refused" if error is None else UNSENT[type(error)]


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    steps = [(step, text(f"step.{step}")) for step in LADDER]
    made.globals |= {
        "t": text,
        "unsent": unsent,
        "word": word,
        "link": link,
        "box_label": box_label,
        "svg": Markup,
        "steps": steps,
    }
    made.globals["family_pairs"] = [(family, word("family", family)) for family in FAMILIES]
    made.filters |= {"in_words": in_words, "figure": figure, "filename": lambda file: Path(file).name}
    made.filters |= {
        "gains": tradeoff_gains,
        "paid_in": price_in,
        "amount": as_printed,
        "family": partial(word, "family"),
        "short": shorten,
        "spare": spare,
        "at_least": lambda mm: amount(on_the_safe_side(mm, ROUND_CEILING), "mm"),
        "shown_unit": shown_unit,
    }
    return made


ENVIRONMENT = _environment()


def auth_of(request: Request) -> Auth:
    """Return the access rules of the requested page."""
    auth: Auth = request.app.state.auth
    return auth


def shop_of(request: Request) -> Shop:
    """Return the requested shop."""
    shop: Shop = request.app.state.shop
    return shop


def settings_of(request: Request) -> Settings:
    """Return the shop's settings; the defaults if it has no store yet."""
    shop = shop_of(request)
    return shop.settings() if shop.store.exists() else DEFAULT_SETTINGS


def used_vehicle(shop: Shop, vehicle_id: str, named: Iterable[str] = ()) -> dict[str, Any]:
    """Return a vehicle's document without archived openings, except those that a job names."""
    document, gone = shop.vehicles.document(vehicle_id).document, set(shop.archive.all())
    openings = [
        one
        for one in document.get("openings", ())
        if one["opening_id"] in named or f"opening:{vehicle_id}/{one['opening_id']}" not in gone
    ]
    return {**document, "openings": openings}


def opening_names(shop: Shop, vehicle_id: str) -> dict[str, str]:
    """Return the names of a vehicle's openings: label, or else id."""
    openings = shop.vehicles.document(vehicle_id).document.get("openings", ())
    return {str(one["opening_id"]): str(one.get("label") or one["opening_id"]) for one in openings}


def subject_label(shop: Shop, subject: str) -> str:
    """Return the label of an opening, a part, a vehicle or a job; its name if the shop does not have it."""
    kind, _, thing = subject.partition(":")
    try:
        if kind == "part":
            figures = shop.catalog.part(thing).figures
            return f"{figures['maker']} {figures['model']}".strip()
        vehicle_id, _, opening_id = thing.partition("/")
        if kind == "opening":
            return opening_names(shop, vehicle_id).get(opening_id, thing)
        document = (shop.jobs if kind == "job" else shop.vehicles).document(vehicle_id).document
        return str(document.get("label") or thing)
    except InputError:
        return thing


def show(request: Request, template: str, status: int = 200, **facts: Any) -> Response:
    """Return a page from its template."""
    auth, visitor = auth_of(request), request.state.visitor
    common: dict[str, Any] = {
        "path": request.url.path,
        "who": who(request),
        "token": auth.form_token(visitor),
        "remarks": {},
        "paid": _paid(request),
        "may_sign_out": auth.password_hash is not None and auth.is_in(visitor),
    }
    return HTMLResponse(ENVIRONMENT.get_template(template).render({**common, **facts}), status)


def _paid(request: Request) -> Callable[..., str]:
    """Return an amount with tax and currency, as the proposal prints it."""

    @cache
    def told() -> Numbers:
        return Numbers("en", shop_of(request).settings().word("currency"))

    return lambda amount, signed=False: told().money(amount, signed=signed)


def whole(answer: Response) -> Response:
    """Make a response replace the whole page instead of a part: its layout has changed."""
    answer.headers.update({"HX-Retarget": "#main", "HX-Reselect": "#main", "HX-Reswap": "outerHTML"})
    return answer


def go(path: str, **query: object) -> Response:
    """Redirect to another page after an action."""
    return RedirectResponse(link(path, **query), 303)


def inside(path: str) -> str:
    """Return a path within the page to continue with, or the first page."""
    inside = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable()
    return path if inside else "/"


def asked(request: Request, name: str) -> str:
    """Return a parameter of the address, empty if there is none."""
    return request.query_params.get(name, "").strip()


NAME_COOKIE = "boltback-by"
LONGEST_NAME = 60


def who(request: Request) -> str | None:
    """Return the name given at this counter; None if there is none."""
    name = unquote(request.cookies.get(NAME_COOKIE, "")).strip()
    return name[:LONGEST_NAME] if name and is_printable(name) else None


Handler = Callable[[Request, FormData], Response]


PATIENT = {("GET", "/paper"), *(("POST", path) for path in ("/choose", "/link", "/options/relax", "/sign-in"))}
"""Requests that may wait for long: for a ranking, or for their turn to check a password."""


def kept_open(request: Request) -> AbstractContextManager[object]:
    """Keep the store open for all questions and changes of a request, since opening it is slow.

    While a request waits for long, the store is closed.
    """
    store, is_patient = shop_of(request).store, (request.method, request.url.path) in PATIENT
    return store.reading() if store.exists() and not is_patient else nullcontext()


def _take(handler: Handler, request: Request, form: FormData) -> Response:
    with kept_open(request):
        settings_of(request)  # bare lengths of the form are in the shop's unit
        return handler(request, form)


def posted(handler: Handler) -> Callable[[Request], Any]:
    """Wrap a handler of a form: the form must come from this page."""

    @wraps(handler)
    async def endpoint(request: Request) -> Response:
        async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
            if not auth_of(request).is_form_token(request.state.visitor, str(form.get("token") or "")):
                return show(request, "refused.html", 403, form=sendable(form), error=None)
            try:
                return await run_in_threadpool(_take, handler, request, form)
            except (StoreBusy, ChainGone, RankingLost) as soon:
                return show(request, "refused.html", 503, form=sendable(form), error=soon)

    endpoint.__dict__["takes_form"] = True
    return endpoint


def sendable(form: FormData) -> list[tuple[str, str]]:
    """Typed values to send again, so that an outdated page loses nothing."""
    return [(name, value) for name, value in form.multi_items() if isinstance(value, str) and name != "token"]


def went_wrong(request: Request, error: Exception) -> Response:
    """The page for a known error: problem, place, and possible fix."""
    assert isinstance(error, BoltbackError)
    status = {NotKnown: 404, StoreBusy: 503, RankingLost: 503, ChainGone: 503, StoreFault: 500}.get(type(error), 400)
    is_soon = isinstance(error, StoreBusy | RankingLost | ChainGone)
    again = str(request.url) if request.method == "GET" and is_soon else ""
    return whole(show(request, "wrong.html", status, error=error, again=again))


def broke(request: Request, error: Exception) -> Response:
    """The page for an internal error, without details."""
    return whole(HTMLResponse(ENVIRONMENT.get_template("broke.html").render(), 500))


def single(form: FormData | Mapping[str, Any], name: str) -> str:
    """Return one typed value without surrounding blanks and with plain line ends."""
    value = form.get(name)
    return value.replace("\r\n", "\n").strip() if isinstance(value, str) else ""


def whole_number(typed: str, what: str, least: int = 0, most: int = 999_999_999) -> int:
    """Return a whole number from a visitor.

    Raises
    ------
    InputError
        if it is not a number, or out of range: it is never replaced by another.
    """
    number = int(typed) if typed.isascii() and typed.isdigit() and len(typed) <= 9 else -1
    if not least <= number <= most:
        limits = f"{least} to {most}" if most < 999_999_999 else f"{least} or more"
        raise InputError(f"there is no {what} {shorten(typed, 40)!r}", fix=f"a {what} is a whole number, {limits}")
    return number
