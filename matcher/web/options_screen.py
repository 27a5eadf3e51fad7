"""A job's options: packages side by side, what each limit and each wish does to them, and nothing saved until asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Check, Options, Package
from catalog_schema.checks import VERDICT_ORDER
from catalog_schema.whys import LimitPrices, Why
from matcher import Shop
from matcher.explain.wording import hearing_says, tradeoff_says
from matcher.explain.wording_bass import bass_says
from matcher.search.priced import is_outside
from matcher.web.answers import Answers, Work
from matcher.web.job_form import WISHES
from matcher.web.job_screen import WISH_WORDS, shop_of
from matcher.web.pages import asked, go, show, single, who

PATIENCE_S = 2.0
"""So long a request waits for an answer; then the page says that it is worked on."""
TOP = 5
TIGHTEST = 6
"""Margins shown before one asks for all."""


def options(request: Request) -> Response:
    """The packages of a job, with what was lifted or weighed otherwise in the address."""
    shop, job_id = shop_of(request), asked(request, "job")
    document = shop.job_document(job_id).document
    lift = tuple(sorted(request.query_params.getlist("lift")))
    wishes = _weights(request, document)
    answer, seconds = _answer(request, shop, job_id, lift, _changed(wishes, document))
    prices, pricing_s = _prices(request, job_id) if answer is not None else (None, 0)
    facts: dict[str, Any] = {
        "job": document,
        "liftable": shop.liftable(job_id),
        "prices": {one.limit: one for one in prices.limits} if prices else None,
        "pricing_s": pricing_s,
        "outside": [one for one in prices.limits if one.costs and is_outside(one.limit)] if prices else [],
        "lift": set(lift),
        "wishes": [(name, WISH_WORDS[name], wishes[name]) for name in WISHES],
        "tried": bool(lift or _changed(wishes, document)),
        "weighed": bool(_changed(wishes, document)),
        "answer": answer,
        "seconds": seconds,
        "again": str(request.url),
        "here": f"{request.url.path}?{request.url.query}",
    }
    reasons = None
    if answer is not None and not answer.packages and not facts["tried"]:
        reasons, facts["seconds"] = _reasons(request, job_id, None, 0.0)
    return show(request, "options.html", reasons=reasons, **facts | _told(answer))


def why(request: Request) -> Response:
    """Why a part is not in the best package."""
    job_id, part = asked(request, "job"), asked(request, "part")
    document = shop_of(request).job_document(job_id).document
    reasons, seconds = _reasons(request, job_id, part or None, PATIENCE_S) if part else (None, 0)
    facts: dict[str, Any] = {"job": document, "part": part, "reasons": reasons, "seconds": seconds}
    facts["again"] = str(request.url)
    return show(request, "why.html", **facts)


def measure(request: Request) -> Response:
    """What to measure first: each open figure that could change the best package, with the value that decides."""
    shop, job_id = shop_of(request), asked(request, "job")
    document, answers = shop.job_document(job_id).document, request.app.state.answers
    first, one = answers.ask(("measure", shop.stamp(job_id)), lambda: shop.measure(job_id), PATIENCE_S)
    facts: dict[str, Any] = {"job": document, "first": first, "seconds": one.seconds, "again": str(request.url)}
    return show(request, "measure.html", here=f"{request.url.path}?{request.url.query}", **facts)


def _reasons(request: Request, job_id: str, part: str | None, wait_s: float) -> tuple[Why | None, int]:
    """Why there is nothing, or not this part; None where that is still worked on, and for how many seconds."""
    shop, answers = shop_of(request), request.app.state.answers
    reasons, one = answers.ask(("why", shop.stamp(job_id), part), lambda: shop.why(job_id, part), wait_s)
    return reasons, one.seconds


def _prices(request: Request, job_id: str) -> tuple[LimitPrices | None, int]:
    """What each limit costs, or None where it is not there yet, and how many seconds it has been worked on."""
    shop, answers = shop_of(request), request.app.state.answers
    prices, one = answers.ask(("limits", shop.stamp(job_id)), lambda: shop.limits(job_id), 0.0)
    return prices, one.seconds


def _told(answer: Options | None) -> dict[str, Any]:
    if answer is None:
        return {"packages": [], "tiers": []}
    names = {id(package): f"package-{package.rank}" for package in answer.packages}
    return {
        "packages": [Told(package) for package in answer.packages],
        "tiers": [(tier, names.get(id(tier.package))) for tier in answer.tiers],
    }


class Told:
    """A package with what a page says of it beside its figures."""

    def __init__(self, package: Package) -> None:
        self.package = package
        by_verdict = sorted(package.checks, key=_tightness)
        self.open = [check for check in by_verdict if check.verdict != "fits"]
        self.tight = [check for check in by_verdict if check.verdict == "fits" and check.unit == "mm"][:TIGHTEST]
        self.checks = by_verdict
        self.bass = bass_says(package.bass) if package.bass else ""
        self.hearing = hearing_says(package.hearing) if package.hearing else ""
        self.tradeoffs = [(tradeoff, tradeoff_says(tradeoff)) for tradeoff in package.tradeoffs]


def _tightness(check: Check) -> tuple[int, float]:
    spare = float(check.margin - check.tol) if check.margin is not None else 0.0
    return VERDICT_ORDER[check.verdict], spare


def _weights(request: Request, document: Mapping[str, Any]) -> dict[str, int]:
    """Each wish as the address has it, or as the job does."""
    own = document.get("wishes") or {}
    return {name: _weight(asked(request, f"wish.{name}"), own.get(name, 3)) for name in WISHES}


def _weight(text: str, otherwise: int) -> int:
    return int(text) if text in ("0", "1", "2", "3", "4", "5") else int(otherwise)


def _changed(wishes: Mapping[str, int], document: Mapping[str, Any]) -> dict[str, int]:
    own = document.get("wishes") or {}
    return {name: weight for name, weight in wishes.items() if weight != int(own.get(name, 3))}


def _answer(
    request: Request, shop: Shop, job_id: str, lift: tuple[str, ...], wishes: dict[str, int]
) -> tuple[Options | None, int]:
    """The answer where it is there, and how many seconds it has been worked on."""
    if not (lift or wishes):
        answer, one = standing_answer(request, job_id, PATIENCE_S)
        return answer, one.seconds
    answers: Answers = request.app.state.answers
    key = ("what if", shop.stamp(job_id), lift, tuple(sorted(wishes.items())))
    lane = (request.state.visitor, job_id)
    answer, one = answers.ask(
        key, lambda: shop.what_if(job_id, lift=lift, wishes=wishes, top=TOP), PATIENCE_S, lane=lane
    )
    return answer, one.seconds


def standing_answer(request: Request, job_id: str, wait_s: float) -> tuple[Options | None, Work]:
    """The answer to a job as it stands, or None where it is not there yet."""
    shop, answers = shop_of(request), request.app.state.answers
    key = ("options", shop.stamp(job_id))
    answer, one = answers.ask(key, lambda: shop.options(job_id, top=TOP), wait_s)
    return answer, one


def keep_wishes(request: Request, form: FormData) -> Response:
    """Write the weights that were tried into the job."""
    shop, job_id = shop_of(request), single(form, "job")
    kept = shop.job_document(job_id)
    own = {**(kept.document.get("wishes") or {})}
    tried = {name: _weight(single(form, f"wish.{name}"), own.get(name, 3)) for name in WISHES}
    shop.save_job({**kept.document, "wishes": own | tried}, kept.mark, by=who(request))
    return go("/options", job=job_id, lift=form.getlist("lift") or None)
