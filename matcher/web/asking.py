"""Questions of a screen about a job: their cache, their rankers, and the questions likely to come next."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Options, Package
from catalog_schema.terms import without
from catalog_schema.whys import LimitPrices
from matcher import Shop
from matcher.search.what_if.priced import is_outside
from matcher.shop.drawings import ShopDrawings
from matcher.shop.papers import ShopPapers
from matcher.shop.reasons import LOOKS
from matcher.shop.trying import Liftable
from matcher.web.answers import AnswerCache, Asker, Urgency, Work
from matcher.web.pages import go, inside, shop_of, single
from matcher.web.questions import PageQuestion, question

PATIENCE_S = 0.6
"""So long a request waits for an answer; then the page says that it is worked on."""
TOP = 8
MOST_AHEAD = 8
"""Switches whose answer is worked out before anybody moves them."""
MOST_LISTS = 200
"""Lists of limits that are remembered at once."""
QUICK_S = 10
"""A job that ranks faster is ranked ahead."""


def answers_of(request: Request) -> AnswerCache:
    """The answers that the page keeps."""
    answers: AnswerCache = request.app.state.answers
    return answers


def stamp_of(request: Request, asked: PageQuestion) -> str:
    """Fingerprint of an answer, computed once for each request."""
    stamps: dict[tuple[str, bool], str] = getattr(request.state, "stamps", {})
    request.state.stamps, of = stamps, (asked.job_id, asked.papers)
    if of not in stamps:
        stamps[of] = asked.stamp(shop_of(request))
    return stamps[of]


def ask(
    request: Request, asked: PageQuestion, wait_s: float, urgency: Urgency = Urgency.WAITED_FOR, lane: str = ""
) -> tuple[Any | None, Work]:
    """The answer, or None if it is not there yet; the visitor's next question in this lane takes its place."""
    asker = Asker(request.state.visitor, (asked.job_id, lane or asked.method))
    return answers_of(request).ask(asked, stamp_of(request, asked), wait_s, asker, urgency)


def kept(request: Request, asked: PageQuestion) -> Any | None:
    """The answer if it was worked out before."""
    return answers_of(request).kept(asked, stamp_of(request, asked))


def standing(request: Request, job_id: str) -> PageQuestion:
    """A job as it is."""
    return _bounded(request, question(Shop.options, job_id, top=TOP, remember=False))


def on_terms(request: Request, job_id: str, terms: Mapping[str, Any]) -> PageQuestion:
    """A job on other terms than its own; without any, as it is."""
    if not terms:
        return standing(request, job_id)
    return _bounded(request, question(Shop.what_if, job_id, terms=dict(terms), top=TOP))


def offer(
    request: Request, answer: Options, terms: Mapping[str, Any], wait_s: float = PATIENCE_S
) -> tuple[Any | None, Work]:
    """The packages of an answer as they are offered; beyond a limit only if the job is asked as it is."""
    return ask(request, offer_question(answer, terms, mark_of(request, answer)), wait_s, lane="offer")


def offer_question(answer: Options, terms: Mapping[str, Any], mark: str) -> PageQuestion:
    """The question for an answer's packages as they are offered; ``mark`` tells the answer from every other."""
    about, given = (json.dumps(terms, sort_keys=True), mark), json.dumps({"further": not terms})
    return PageQuestion(ShopPapers.offer, answer.job_id, given, about=about, papers=True, beside={"options": answer})


def about_package(job_id: str, package: Package, method: Callable[..., Any], **beside: Any) -> PageQuestion:
    """A question about one package of an answer."""
    return PageQuestion(method, job_id, about=(package.id, *beside), papers=True, beside={"package": package, **beside})


def follow_up(shop: Shop, asked: PageQuestion, answer: Any) -> PageQuestion | None:
    """The question that a page asks next, once it has an answer: the packages drawn, then the best one in the car."""
    if asked.method in (Shop.options, Shop.what_if) and answer.packages and answer.complete:
        return offer_question(answer, json.loads(asked.given).get("terms", {}), asked.stamp(shop))
    if asked.method == ShopPapers.offer:
        return about_package(asked.job_id, answer.shown("").package, ShopDrawings.package_in_car)
    return None


def limits(job_id: str) -> PageQuestion:
    """The question for the price of each limit."""
    return question(Shop.limits, job_id)


def measure(job_id: str) -> PageQuestion:
    """The question for the figures to measure first."""
    return question(Shop.measure, job_id, looks=LOOKS)


def why(job_id: str, part: str | None = None) -> PageQuestion:
    """Why there is nothing, or not this part."""
    return question(Shop.why, job_id, part=part)


def liftable(request: Request, job_id: str) -> list[Liftable]:
    """Every limit of a job that could be lifted; it takes little, so that the page finds it by itself."""
    known: dict[str, list[Liftable]] = request.app.state.liftable
    stamp = stamp_of(request, limits(job_id))
    if stamp not in known:
        if len(known) >= MOST_LISTS:
            known.clear()
        known[stamp] = shop_of(request).liftable(job_id)
    return known[stamp]


def standing_answer(request: Request, job_id: str, wait_s: float) -> tuple[Options | None, Work]:
    """The answer to a job as it is, or None if it is not there yet."""
    return ask(request, standing(request, job_id), wait_s)


def prices(request: Request, job_id: str) -> tuple[LimitPrices | None, int]:
    """Price of each limit, or None if it is not there yet, and for how many seconds it has been computed."""
    found, one = ask(request, limits(job_id), 0.0, Urgency.BESIDE)
    return found, one.seconds


def ask_ahead(request: Request, answer: Options, found: LimitPrices, document: Mapping[str, Any]) -> None:
    """Have the likely next questions worked out: each limit that costs something lifted by itself."""
    if answer.seconds > QUICK_S:
        return
    dear = [one.limit for one in found.limits if one.costs and not is_outside(one.limit)]
    for name in dear[:MOST_AHEAD]:
        asked = on_terms(request, answer.job_id, without(document, [name]))
        ask(request, asked, 0.0, Urgency.AHEAD, lane=f"ahead {name}")


def prepare(request: Request, job_id: str) -> None:
    """Have a job answered as it is, before anybody looks at its packages."""
    ask(request, standing(request, job_id), 0.0, Urgency.AHEAD)


def mark_of(request: Request, answer: Options) -> str:
    """Mark of an answer to a job as it is: one that was ended early may differ."""
    stamp = stamp_of(request, standing(request, answer.job_id))
    return stamp if answer.complete else f"{stamp}.{hashlib.sha256(repr(answer.packages).encode()).hexdigest()[:16]}"


def _bounded(request: Request, asked: PageQuestion) -> PageQuestion:
    """A question as it is asked: looked at to the end where somebody wants that, else for the page's seconds."""
    whole = replace(asked, about=("whole",))
    if request.query_params.get("whole") or kept(request, whole) is not None:
        return whole
    seconds: float | None = request.app.state.seconds
    if seconds is None:
        return asked
    return replace(asked, given=json.dumps(json.loads(asked.given) | {"seconds": seconds}, sort_keys=True))


def stop(request: Request, form: FormData) -> Response:
    """End the search that a visitor waits for with what it has found so far, and go back to it."""
    answers_of(request).stop(request.state.visitor, single(form, "job"))
    return go(inside(single(form, "next")))
