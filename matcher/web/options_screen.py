"""A job's options: packages side by side, what each limit and each wish does to them, and nothing saved until asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Check, Options, Package
from catalog_schema.checks import VERDICT_ORDER
from catalog_schema.whys import LimitPrice, LimitPrices, Why
from matcher.explain.wording import covered_says, hearing_says, tradeoff_says
from matcher.explain.wording_bass import bass_says
from matcher.search.what_if.priced import is_outside
from matcher.web import asking
from matcher.web.job_form import WISHES
from matcher.web.job_screen import WISH_WORDS
from matcher.web.pages import asked, go, opening_names, shop_of, show, single, who, whole_number
from matcher.web.part_wishes import pin_of, wishes_held

SHORT_PATIENCE_S = 0.15
"""So long a request waits where the best package is known already, by the price of the one limit that is lifted."""
TIGHTEST = 6
"""Margins shown before one asks for all."""


def options(request: Request) -> Response:
    """The packages of a job, with what was lifted or weighed otherwise in the address."""
    shop, job_id = shop_of(request), asked(request, "job")
    document = shop.job_document(job_id).document
    lift = tuple(request.query_params.getlist("lift"))
    wishes = _weights(request, document)
    weighed = _changed(wishes, document)
    tried = bool(lift or weighed)
    question = asking.what_if(request, job_id, lift, weighed) if tried else asking.standing(request, job_id)
    known = None if weighed else _known(asking.kept(request, asking.limits(job_id)), lift)
    wait_s = asking.PATIENCE_S if known is None else SHORT_PATIENCE_S
    answer, one = asking.ask(request, question, wait_s, lane="options")
    prices, pricing_s = _prices(request, job_id, answer, tried=tried)
    places = opening_names(shop, document["vehicle_id"])
    reasons, reasons_s = None, 0
    if answer is not None and answer.complete and not answer.packages and not tried:
        reasons, reasons_s = _reasons(request, job_id, None, 0.0)
    facts: dict[str, Any] = {
        "job": document,
        "liftable": asking.liftable(request, job_id),
        "prices": {one.limit: one for one in prices.limits} if prices else None,
        "pricing_s": pricing_s,
        "outside": [one for one in prices.limits if one.costs and is_outside(one.limit)] if prices else [],
        "lift": set(lift),
        "wishes": [(name, WISH_WORDS[name], wishes[name]) for name in WISHES],
        "tried": tried,
        "weighed": bool(weighed),
        "answer": answer,
        "covered": "" if answer is None else covered_says(answer),
        "known": known if answer is None else None,
        "places": places,
        "held": wishes_held(document, places),
        "pin_of": pin_of,
        "reasons": reasons,
        "seconds": reasons_s or one.seconds,
        "again": str(request.url),
        "to_the_end": str(request.url.include_query_params(whole=1)),
        "here": f"{request.url.path}?{request.url.query}",
    }
    return show(request, "options.html", **facts | _told(answer))


def why(request: Request) -> Response:
    """Why a part is not in the best package."""
    job_id, part = asked(request, "job"), asked(request, "part")
    document = shop_of(request).job_document(job_id).document
    reasons, seconds = _reasons(request, job_id, part or None, asking.PATIENCE_S) if part else (None, 0)
    facts: dict[str, Any] = {"job": document, "part": part, "reasons": reasons, "seconds": seconds}
    facts["again"] = str(request.url)
    return show(request, "why.html", **facts)


def measure(request: Request) -> Response:
    """What to measure first: each open figure that could change the best package, with the value that decides."""
    job_id = asked(request, "job")
    document = shop_of(request).job_document(job_id).document
    first, one = asking.ask(request, asking.measure(job_id), asking.PATIENCE_S)
    facts: dict[str, Any] = {"job": document, "first": first, "seconds": one.seconds, "again": str(request.url)}
    return show(request, "measure.html", here=f"{request.url.path}?{request.url.query}", **facts)


def _reasons(request: Request, job_id: str, part: str | None, wait_s: float) -> tuple[Why | None, int]:
    """Why there is nothing, or not this part; None where that is still worked on, and for how many seconds."""
    reasons, one = asking.ask(request, asking.why(job_id, part), wait_s)
    return reasons, one.seconds


def _prices(request: Request, job_id: str, answer: Options | None, *, tried: bool) -> tuple[LimitPrices | None, int]:
    """What each limit costs: asked for once the packages are there, and then the packages without each."""
    if answer is None:
        return asking.kept(request, asking.limits(job_id)), 0
    prices, seconds = asking.prices(request, job_id)
    if prices is not None and not tried:
        asking.ask_ahead(request, answer, prices)
    return prices, seconds


def _known(prices: LimitPrices | None, lift: tuple[str, ...]) -> LimitPrice | None:
    """Where one limit is lifted and its price is known: the best package without it, before the rest is there."""
    found = [one for one in prices.limits if one.package is not None and lift == (one.limit,)] if prices else []
    return found[0] if found else None


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
    return whole_number(text, "weight", most=5) if text else int(otherwise)


def _changed(wishes: Mapping[str, int], document: Mapping[str, Any]) -> dict[str, int]:
    own = document.get("wishes") or {}
    return {name: weight for name, weight in wishes.items() if weight != int(own.get(name, 3))}


def keep_wishes(request: Request, form: FormData) -> Response:
    """Write the weights that were tried into the job."""
    shop, job_id = shop_of(request), single(form, "job")
    kept = shop.job_document(job_id)
    own = {**(kept.document.get("wishes") or {})}
    tried = {name: _weight(single(form, f"wish.{name}"), own.get(name, 3)) for name in WISHES}
    shop.save_job({**kept.document, "wishes": own | tried}, kept.mark, by=who(request))
    return go("/options", job=job_id, lift=form.getlist("lift") or None)
