"""The page as an application: routes and middleware."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import partial, wraps
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from matcher import Shop
from matcher.errors import BoltbackError
from matcher.web import (
    archive_screen,
    catalog_screen,
    choose_screen,
    fit_screen,
    job_screen,
    options_screen,
    order_screen,
    owned_screen,
    part_wishes,
    quick_screen,
    setup_screen,
    sign_in,
    start_screen,
    supplier_screen,
    vehicle_screen,
    waiting,
)
from matcher.web.access import Access, TooLargeError
from matcher.web.answers import AnswerCache, Asker, Urgency
from matcher.web.asking import follow_up
from matcher.web.auth import Auth
from matcher.web.pages import broke, kept_open, posted, shop_of, show, went_wrong
from matcher.web.questions import PageQuestion
from matcher.web.rankers import Ranker
from matcher.web.texts import TEXTS
from matcher.web.uploads import Uploads

Screen = Callable[[Request], Response]

STATIC = Path(__file__).parent / "static"


def _home(request: Request) -> Response:
    return RedirectResponse("/start" if start_screen.is_new(shop_of(request)) else "/jobs", 303)


SCREENS = {
    "/": _home,
    "/start": start_screen.start,
    "/jobs": job_screen.jobs,
    "/job": job_screen.job,
    "/options": options_screen.options,
    "/checks": options_screen.checks,
    "/why": options_screen.why,
    "/fit": fit_screen.fit,
    "/reading": fit_screen.reading,
    "/quick": quick_screen.quick,
    "/vehicles": vehicle_screen.vehicles,
    "/vehicle": vehicle_screen.vehicle,
    "/opening": vehicle_screen.opening,
    "/owned": owned_screen.owned,
    "/setup": setup_screen.setup,
    "/choose": choose_screen.choose,
    "/order": order_screen.order,
    "/paper": order_screen.paper,
    "/archive": archive_screen.archive,
    "/wait": waiting.waiting,
    "/catalog": catalog_screen.catalog,
    "/part": catalog_screen.part,
    "/catalog/list": catalog_screen.look,
    "/catalog/problems": catalog_screen.problems,
    "/catalog/problem": catalog_screen.problem,
    "/catalog/history": catalog_screen.history,
    "/catalog/supplier": supplier_screen.supplier,
    "/name": sign_in.name_page,
    "/sign-in": sign_in.sign_in,
}
"""Routes for GET."""

LEAST_RANKERS, MOST_RANKERS = 2, 4

FORMS = {
    "/start": start_screen.save_start,
    "/jobs": job_screen.new_job,
    "/job": job_screen.save_job,
    "/stop": waiting.stop,
    "/options/keep": options_screen.keep_tried,
    "/options/relax": options_screen.relax,
    "/options/part": part_wishes.keep_part_wish,
    "/fit/reading": fit_screen.add_reading,
    "/quick/part": quick_screen.keep_part,
    "/quick/car": quick_screen.keep_car,
    "/reading": fit_screen.write_reading,
    "/reading/void": fit_screen.void_reading,
    "/vehicles": vehicle_screen.new_vehicle,
    "/vehicle": vehicle_screen.save_vehicle,
    "/vehicle/openings": vehicle_screen.new_opening,
    "/opening": vehicle_screen.save_opening,
    "/owned": owned_screen.keep_owned,
    "/setup": setup_screen.save_setup,
    "/choose": choose_screen.fix_choice,
    "/link": choose_screen.make_link,
    "/link/revoke": choose_screen.revoke_link,
    "/link/answer": choose_screen.answer,
    "/order": order_screen.make_order,
    "/sign": setup_screen.sign,
    "/archive": archive_screen.put_away,
    "/catalog/send": catalog_screen.send,
    "/catalog/list": catalog_screen.load,
    "/catalog/emptied": catalog_screen.keep_emptied,
    "/catalog/problem": catalog_screen.mend,
    "/catalog/history": catalog_screen.restore,
    "/catalog/supplier": supplier_screen.save_supplier,
    "/name": sign_in.set_name,
    "/sign-in": sign_in.let_in,
    "/sign-out": sign_in.let_out,
}
"""Routes for POST: all forms, each with its visitor's token."""


def make_app(
    shop: Shop, auth: Auth, names: Iterable[str] = ("localhost",), seconds: float | None = None
) -> tuple[Starlette, AnswerCache]:
    """Return the page of a shop, and its cached answers, to be closed at the end.

    Parameters
    ----------
    auth
        Access rules.
    names
        Host names that the page answers to, besides bare addresses.
    seconds
        Time limit of a ranking; None: no limit.
    """
    app = Starlette(
        routes=[
            *(Route(path, _screen(screen), methods=["GET"]) for path, screen in SCREENS.items()),
            *(Route(path, posted(taker), methods=["POST"]) for path, taker in FORMS.items()),
            Route("/see/{token}", choose_screen.see, methods=["GET"]),
            Route("/see/{token}", choose_screen.sent, methods=["POST"]),
            Mount("/static", StaticFiles(directory=STATIC)),
        ],
        middleware=[Middleware(Access, auth=auth, names=frozenset(names))],
        exception_handlers={
            BoltbackError: went_wrong,
            TooLargeError: _too_large,
            HTTPException: _not_here,
            Exception: broke,
        },
    )
    app.state.shop, app.state.auth, app.state.seconds = shop, auth, seconds
    app.state.answers = answers = AnswerCache(_rankers(shop), partial(_go_on, shop, app))
    app.state.uploads, app.state.liftable, app.state.works = Uploads(), {}, {}
    return app, answers


def _rankers(shop: Shop) -> list[Ranker]:
    """One per processor, at least two: one is always free for a waiting visitor."""
    folder = Path(tempfile.mkdtemp(prefix="rankings-")).resolve()
    places = [folder / str(number) for number in range(max(LEAST_RANKERS, min(MOST_RANKERS, os.cpu_count() or 1)))]
    for place in places:
        place.mkdir()
    return [Ranker(shop, place) for place in places]


def _go_on(shop: Shop, app: Starlette, question: PageQuestion, answer: Any) -> None:
    """Record the catalog version of the job's answer for the job list, and start the likely next question."""
    with suppress(BoltbackError):
        if question.method == Shop.options:
            shop.jobs.remember_answer(question.job_id, answer.catalog_version)
        following = follow_up(shop, question, answer)
        if following is not None:
            asker = Asker("ahead", (question.job_id, following.method))
            app.state.answers.ask(following, following.stamp(shop), 0.0, asker, Urgency.AHEAD)


def _screen(screen: Screen) -> Screen:
    @wraps(screen)
    def opened(request: Request) -> Response:
        request.app.state.answers.seen(request.state.visitor)
        with kept_open(request):
            return screen(request)

    return opened


def _too_large(request: Request, error: Exception) -> Response:
    return PlainTextResponse(TEXTS("refused.too_large"), 413)


def _not_here(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return show(request, "nowhere.html", 404)
    return PlainTextResponse(str(error.detail), error.status_code)
