"""A job's packages: in the car to scale, side by side, with figures to measure and the effect of limits and wishes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from catalog_schema.answers import Options, Package, PartsAt
from catalog_schema.terms import RELAXABLE, changed_terms, without
from catalog_schema.whys import LimitPrice, LimitPrices, Relaxation
from matcher.answers.messages import amount, covered_says, hearing_says
from matcher.answers.messages_bass import bass_says
from matcher.drawings.openings import PER
from matcher.papers.no_package import helpful
from matcher.search.what_if.priced import is_outside
from matcher.shop import Shop
from matcher.shop.drawings import ShopDrawings
from matcher.shop.papers import ShopPapers
from matcher.web import asking
from matcher.web.answers import Urgency
from matcher.web.car_plan import body_of, pins_of
from matcher.web.fit_screen import BASES, worst_first
from matcher.web.job_form import WISHES
from matcher.web.job_path import chips, job_facts
from matcher.web.job_screen import WISH_WORDS
from matcher.web.pages import asked, go, opening_names, shop_of, show, single, who, whole_number
from matcher.web.part_wishes import pin_of, wishes_held
from matcher.web.questions import question
from matcher.web.wording import text

if TYPE_CHECKING:
    from matcher.papers.offer import Offer

SCALE_BAR_MM = 100
"""Length of the bar below the openings in a panel; three times that in spaces, which are drawn at a third."""
SHORT_PATIENCE_S = 0.15
"""Shorter wait if the best package is already known from the price of the one lifted limit."""


def options(request: Request) -> Response:
    """The packages of a job, with lifted limits and changed weights in the address."""
    shop, job_id = shop_of(request), asked(request, "job")
    document = shop.jobs.document(job_id).document
    lift, terms = request.query_params.getlist("lift"), tried_terms(document, request.query_params)
    weights = {**(document.get("wishes") or {}), **terms.get("wish", {})}
    known = None if "wish" in terms else _known(asking.kept(request, asking.limits(job_id)), lift)
    wait_s = asking.PATIENCE_S if known is None else SHORT_PATIENCE_S
    answer, one = asking.ask(request, asking.on_terms(request, job_id, terms), wait_s, lane="options")
    prices, pricing_s = _prices(request, document, answer, tried=bool(terms))
    places = opening_names(shop, document["vehicle_id"])
    empty: Options | None = answer if answer and not answer.packages else None
    reasons = None
    if empty and empty.complete and not terms:
        reasons, one = asking.ask(request, asking.why(job_id), 0.0)
    facts: dict[str, Any] = {
        **job_facts(shop, job_id, "packages"),
        "chips": chips(document, places, shop.settings()),
        "liftable": asking.liftable(request, job_id),
        "prices": {one.limit: one for one in prices.limits} if prices else None,
        "pricing_s": pricing_s,
        "outside": [one for one in prices.limits if one.costs and is_outside(one.limit)] if prices else [],
        "lift": set(lift),
        "wishes": [(name, WISH_WORDS[name], weights.get(name, 3)) for name in WISHES],
        "tried": bool(terms),
        "answer": answer,
        "covered": "" if answer is None else covered_says(answer),
        "known": known,
        "places": places,
        "held": wishes_held(document, places),
        "pin_of": pin_of,
        "instead": _instead(request, job_id, answer) if not terms else [],
        "reasons": reasons,
        "ruled_out": shop.papers.no_package(job_id, options=empty, why=reasons) if empty else [],
        "relaxable": [_is_relaxable(one) for one in helpful(reasons)],
        "seconds": one.seconds,
        "looking": one.looking,
        "again": str(request.url),
        "to_the_end": str(request.url.include_query_params(whole=1)),
        "here": f"{request.url.path}?{request.url.query}",
        "bases": BASES,
        "at_package": lambda package_id: str(request.url.include_query_params(show=package_id)),
    }
    return show(request, "options.html", **facts | _offered(request, answer, terms, places))


def _instead(request: Request, job_id: str, answer: Options | None) -> list[PartsAt] | None:
    """The best parts for each opening, requested after the packages; None if in progress."""
    if answer is None or not answer.packages:
        return []
    found: list[PartsAt] | None = asking.ask(request, question(Shop.alternatives, job_id), 0.0, Urgency.BESIDE)[0]
    return found


def tried_terms(document: Mapping[str, Any], sent: FormData | QueryParams) -> dict[str, Any]:
    """The terms on trial: lifted limits and changed weights."""
    own = document.get("wishes") or {}
    typed = {name: text for name in WISHES if (text := single(sent, f"wish.{name}"))}
    weights = {name: whole_number(text, "weight", most=5) for name, text in typed.items()}
    weighed = {name: weight for name, weight in weights.items() if weight != int(own.get(name, 3))}
    return without(document, map(str, sent.getlist("lift"))) | ({"wish": weighed} if weighed else {})


def _offered(
    request: Request, answer: Options | None, terms: Mapping[str, Any], places: Mapping[str, str]
) -> dict[str, Any]:
    """The packages of an answer for the page; empty while they are drawn."""
    if answer is None or not answer.packages:
        return {"offer": None, "shown": None, "stamp": answer and asking.mark_of(request, answer)}
    offer: Offer | None = asking.offer(request, answer, terms)
    if offer is None:
        return {"offer": None, "shown": None}
    shown = offer.shown(asked(request, "show"))
    in_car = asking.ask(
        request, asking.about_package(answer.job_id, shown.package, ShopDrawings.package_in_car), asking.PATIENCE_S
    )[0]
    shop = shop_of(request)
    vehicle = shop.vehicles.document(shop.jobs.document(answer.job_id).document["vehicle_id"]).document
    return {
        "offer": offer,
        "shown": shown,
        "in_car": in_car,
        "pins_at": {pin.opening_id: pin.at for pin in pins_of(vehicle, answer.job_id)},
        "body": body_of(vehicle),
        "scale_mm": round(SCALE_BAR_MM / PER, 2),
        "feeds": _feeds(shown.package, places),
        "bass": bass_says(shown.package.bass) if shown.package.bass else "",
        "hearing": hearing_says(shown.package.hearing) if shown.package.hearing else "",
        "stamp": asking.mark_of(request, answer),
        "checks_at": str(request.url.replace(path="/checks").include_query_params(show=shown.package.id)),
        **_to_measure(request, answer, shown.package),
    }


def _to_measure(request: Request, answer: Options, package: Package) -> dict[str, Any]:
    """The figures to measure, by effect once known, or else all that the package needs."""
    first, one = asking.ask(request, asking.measure(answer.job_id), 0.0, Urgency.BESIDE)
    known = {} if first is None else {"measure": first}
    asked_of = asking.about_package(answer.job_id, package, ShopPapers.open_figures, options=answer, **known)
    found = asking.ask(request, asked_of, asking.PATIENCE_S)[0] if known or package.measure else []
    return {"to_measure": found or [], "measuring": first is None or found is None, "measure_looking": one.looking}


def checks(request: Request) -> Response:
    """Every check of one package, on the terms of the address."""
    shop, job_id = shop_of(request), asked(request, "job")
    terms = tried_terms(shop.jobs.document(job_id).document, request.query_params)
    back = str(request.url.replace(path="/options"))
    answer = asking.ask(request, asking.on_terms(request, job_id, terms), asking.PATIENCE_S, lane="options")[0]
    offer = asking.offer(request, answer, terms) if answer and answer.packages else None
    if offer is None:
        return RedirectResponse(back, 303)
    shown = offer.shown(asked(request, "show"))
    facts = job_facts(shop, job_id, "packages") | {"shown": shown, "answer": answer, "back": back}
    return show(request, "checks.html", **facts, checks=sorted(shown.package.checks, key=worst_first))


def why(request: Request) -> Response:
    """Why a part is not in the best package."""
    shop, job_id, part = shop_of(request), asked(request, "job"), asked(request, "part")
    reasons, one = asking.ask(request, asking.why(job_id, part), asking.PATIENCE_S) if part else (None, None)
    facts = job_facts(shop, job_id, "packages") | {"part": part, "reasons": reasons, "seconds": one and one.seconds}
    facts["names"] = opening_names(shop, facts["job"]["vehicle_id"])
    return show(request, "why.html", again=str(request.url), **facts)


def _is_relaxable(one: Relaxation) -> bool:
    return all(change.limit.partition(".")[0] in RELAXABLE for change in one.changes)


def relax(request: Request, form: FormData) -> Response:
    """Change a job's limits as one of the helpful relaxations says."""
    shop, job_id = shop_of(request), single(form, "job")
    asking.check_seen(request, form, job_id)
    found = helpful(asking.awaited(request, asking.why(job_id)))
    one = found[whole_number(single(form, "number"), "change", 1, len(found)) - 1]
    terms = changed_terms(shop.jobs.document(job_id).document, one.changes)
    shop.jobs.edit(job_id, terms, by=who(request), sure=True)
    return go("/options", job=job_id)


def _prices(
    request: Request, document: Mapping[str, Any], answer: Options | None, *, tried: bool
) -> tuple[LimitPrices | None, int]:
    """Price of each limit, requested after the packages, followed by the packages without each limit."""
    job_id = str(document["job_id"])
    if answer is None:
        return asking.kept(request, asking.limits(job_id)), 0
    prices, one = asking.ask(request, asking.limits(job_id), 0.0, Urgency.BESIDE)
    if prices is not None and not tried:
        asking.ask_ahead(request, answer, prices, document)
    return prices, one.seconds


def _known(prices: LimitPrices | None, lift: list[str]) -> LimitPrice | None:
    """The best package without a limit if its price is known, shown before the full answer."""
    found = [one for one in prices.limits if one.package is not None and lift == [one.limit]] if prices else []
    return found[0] if found else None


def _feeds(package: Package, places: Mapping[str, str]) -> list[str]:
    """Return a sentence for each feed of a package."""
    parts = {line.part_id: line.label for line in package.lines}
    return [
        text(
            "options.feeds",
            from_=parts.get(feed.from_) or feed.from_,
            to=", ".join(places.get(name, name) for name in feed.to),
            channels=feed.channels,
            load=amount(feed.load_ohm, "ohm"),
            power=amount(feed.power_w, "W"),
        )
        for feed in package.links
    ]


def keep_tried(request: Request, form: FormData) -> Response:
    """Save a trial in the job: weights, and lifted limits."""
    shop, job_id = shop_of(request), single(form, "job")
    terms = tried_terms(shop.jobs.document(job_id).document, form)
    if terms:
        shop.jobs.edit(job_id, terms, by=who(request), sure=True)
    return go("/options", job=job_id)
