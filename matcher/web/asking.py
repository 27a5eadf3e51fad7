"""Questions of a screen about a job: cache, rankers, and likely next questions."""

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
from matcher.errors import InputError, StoreBusy
from matcher.search.what_if.priced import is_outside
from matcher.shop.drawings import ShopDrawings
from matcher.shop.papers import ShopPapers
from matcher.shop.reasons import LOOKS
from matcher.shop.trying import Liftable
from matcher.web.answers import AnswerCache, Asker, Urgency, Work
from matcher.web.pages import PATIENT, go, inside, shop_of, single
from matcher.web.questions import PageQuestion, question

PATIENCE_S = 0.6
"""Time that a request waits for an answer before it shows progress."""
LONG_PATIENCE_S = 90.0
"""Time that a form or a single paper waits for its answer."""
TOP = 8
MOST_AHEAD = 8
"""Number of switches whose answers are computed in advance."""
MOST_LISTS = 200
"""Number of lists of limits kept in memory."""
QUICK_S = 10
"""Jobs that rank faster than this are ranked in advance."""


def answers_of(request: Request) -> AnswerCache:
    """The page's cached answers."""
    answers: AnswerCache = request.app.state.answers
    return answers


def stamp_of(request: Request, asked: PageQuestion) -> str:
    """Fingerprint of an answer, computed once per request."""
    stamps: dict[tuple[str, bool], str] = getattr(request.state, "stamps", {})
    request.state.stamps, of = stamps, (asked.job_id, asked.papers)
    if of not in stamps:
        stamps[of] = asked.stamp(shop_of(request))
    return stamps[of]


def ask(
    request: Request, asked: PageQuestion, wait_s: float, urgency: Urgency = Urgency.WAITED_FOR, lane: str = ""
) -> tuple[Any | None, Work]:
    """Return the answer, or None if it is in progress; the visitor's next question in this lane replaces it."""
    asker = Asker(request.state.visitor, (asked.job_id, lane or asked.method))
    return answers_of(request).ask(asked, stamp_of(request, asked), wait_s, asker, urgency)


def kept(request: Request, asked: PageQuestion) -> Any | None:
    """Return the answer if it is cached."""
    return answers_of(request).kept(asked, stamp_of(request, asked))


def standing(request: Request, job_id: str) -> PageQuestion:
    """The packages of a job as stated."""
    return _bounded(request, question(Shop.options, job_id, top=TOP, remember=False))


def on_terms(request: Request, job_id: str, terms: Mapping[str, Any]) -> PageQuestion:
    """The packages of a job on other terms, or as stated."""
    if not terms:
        return standing(request, job_id)
    return _bounded(request, question(Shop.what_if, job_id, terms=dict(terms), top=TOP))


def offer(request: Request, answer: Options, terms: Mapping[str, Any]) -> Any | None:
    """The packages of an answer for the proposal, or None if they are being drawn."""
    return ask(request, offer_question(answer, terms, mark_of(request, answer)), PATIENCE_S, lane="offer")[0]


def offer_question(answer: Options, terms: Mapping[str, Any], mark: str, *, for_customer: bool = False) -> PageQuestion:
    """The question for an answer's packages in a proposal, further ones beyond a limit only for the job as stated.

    ``mark`` identifies the answer.
    """
    about = json.dumps(terms, sort_keys=True), mark
    given = json.dumps({"further": not terms, "for_customer": for_customer})
    return PageQuestion(ShopPapers.offer, answer.job_id, given, about=about, papers=True, beside={"options": answer})


def about_package(job_id: str, package: Package, method: Callable[..., Any], **beside: Any) -> PageQuestion:
    """A question about one package of an answer."""
    return PageQuestion(method, job_id, about=(package.id, *beside), papers=True, beside={"package": package, **beside})


def follow_up(shop: Shop, asked: PageQuestion, answer: Any) -> PageQuestion | None:
    """The questions that follow an answer: the packages drawn, then the best one in the car."""
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
    """The question why there is no package, or why not with this part."""
    return question(Shop.why, job_id, part=part)


def liftable(request: Request, job_id: str) -> list[Liftable]:
    """Limits of a job that could be lifted, found by the page itself, as this is quick."""
    known: dict[str, list[Liftable]] = request.app.state.liftable
    stamp = stamp_of(request, limits(job_id))
    if stamp not in known:
        if len(known) >= MOST_LISTS:
            known.clear()
        known[stamp] = shop_of(request).liftable(job_id)
    return known[stamp]


def awaited(request: Request, asked: PageQuestion) -> Any:
    """Return the answer, waiting as needed.

    Raises
    ------
    StoreBusy
        if it takes longer than `LONG_PATIENCE_S`.
    """
    assert (request.method, request.url.path) in PATIENT  # else nobody could open the store in the meantime
    answer, one = ask(request, asked, LONG_PATIENCE_S)
    if answer is None:
        raise StoreBusy(f"the answer has been worked on for {one.seconds} s", fix="look again in a minute")
    return answer


def ask_ahead(request: Request, answer: Options, found: LimitPrices, document: Mapping[str, Any]) -> None:
    """Start likely next questions: each limit with a price, lifted by itself."""
    if answer.seconds > QUICK_S:
        return
    dear = [one.limit for one in found.limits if one.costs and not is_outside(one.limit)]
    for name in dear[:MOST_AHEAD]:
        asked = on_terms(request, answer.job_id, without(document, [name]))
        ask(request, asked, 0.0, Urgency.AHEAD, lane=f"ahead {name}")


def prepare(request: Request, job_id: str) -> None:
    """Start the ranking of a job as stated."""
    ask(request, standing(request, job_id), 0.0, Urgency.AHEAD)


def mark_of(request: Request, answer: Options) -> str:
    """Identifies an answer for a job as stated: one that was ended early may differ."""
    stamp = stamp_of(request, standing(request, answer.job_id))
    return stamp if answer.complete else f"{stamp}.{hashlib.sha256(repr(answer.packages).encode()).hexdigest()[:16]}"


def check_seen(request: Request, form: FormData, job_id: str) -> None:
    """Refuse a form about an answer that is not today's any more.

    Raises
    ------
    InputError
        if the job, its car or the catalog changed since.
    """
    if single(form, "stamp").partition(".")[0] != stamp_of(request, standing(request, job_id)):
        raise InputError(
            "the job, its car or the catalog changed since you looked", fix="look at the packages again, then choose"
        )


def _bounded(request: Request, asked: PageQuestion) -> PageQuestion:
    """The question with its time limit: none if a visitor asked for the whole search."""
    whole = replace(asked, about=("whole",))
    if request.query_params.get("whole") or kept(request, whole) is not None:
        return whole
    seconds: float | None = request.app.state.seconds
    if seconds is None:
        return asked
    return replace(asked, given=json.dumps(json.loads(asked.given) | {"seconds": seconds}, sort_keys=True))


def stop(request: Request, form: FormData) -> Response:
    """End the search that a visitor waits for, keep its results so far, and return to it."""
    answers_of(request).stop(request.state.visitor, single(form, "job"))
    return go(inside(single(form, "next")))
