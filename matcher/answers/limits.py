"""Price of each limit of a job, and how far its weights can change."""

from __future__ import annotations

from dataclasses import replace

from catalog_schema.jobs import Job
from catalog_schema.whys import Beyond, Brief, LimitPrice, LimitPrices, Stability
from matcher.answers.briefs import difference, swaps
from matcher.answers.gains import gains
from matcher.answers.messages_limits import limit_says, price_says, stability_says
from matcher.answers.why import WhyQuestion, asked_again
from matcher.search.catalog.catalog import Catalog
from matcher.search.packages import Found
from matcher.search.what_if.priced import Priced, every_price
from matcher.search.what_if.weights import Weighed, stable_weights, weighed


def answer_limits(catalog: Catalog, job: Job, version: int, *, weights: bool, besides: tuple[str, ...]) -> LimitPrices:
    """Return the best package without each limit; ``weights`` and ``besides`` as in `Shop.limits`."""
    asked = asked_again(catalog, job)
    best = asked.possible.best()
    told = None if best is None else asked.brief(best, asked.job)
    limits = [_price(asked, one, best, told) for one in every_price(asked.possible, besides)]
    return LimitPrices(
        job_id=job.job_id,
        catalog_version=version,
        best=told,
        limits=sorted(limits, key=lambda one: -(one.difference.points if one.difference else 0)),
        weights=_stability(asked, best, told) if weights and best is not None and told is not None else [],
    )


def _price(asked: WhyQuestion, one: Priced, best: Found | None, told: Brief | None) -> LimitPrice:
    is_same = best is not None and one.found is not None and one.found.name == best.name
    package = told if is_same else None if one.found is None else asked.brief(one.found, one.job)
    price = LimitPrice(
        limit=one.name,
        value=limit_says(asked.describer.question, one.name),
        costs=package is not None and not is_same,
        package=package,
        difference=None if package is None or told is None else difference(told, package),
    )
    return replace(price, says=price_says(price))


def _stability(asked: WhyQuestion, best: Found, told: Brief) -> list[Stability]:
    return [_stable(asked, one, told) for one in stable_weights(asked.possible.catalog, asked.job, best)]


def _stable(asked: WhyQuestion, one: Weighed, told: Brief) -> Stability:
    made = Stability(
        wish=one.wish,
        weight=one.weight,
        least=one.least,
        most=one.most,
        below=_beyond(asked, one.wish, one.least - 1, one.below, told),
        above=_beyond(asked, one.wish, one.most + 1, one.above, told),
    )
    return replace(made, says=stability_says(made))


def _beyond(asked: WhyQuestion, wish: str, weight: int, found: Found | None, told: Brief) -> Beyond | None:
    if found is None:
        return None
    package = asked.brief(found, weighed(asked.job, {wish: weight}))
    return Beyond(weight=weight, package=package, swaps=swaps(told.lines, package.lines), gains=gains(told, package))
