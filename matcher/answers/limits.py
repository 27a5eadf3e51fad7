"""Price of each limit of a job, and how far its weights can change."""

from __future__ import annotations

from dataclasses import replace

from catalog_schema.jobs import Job
from catalog_schema.whys import Beyond, Brief, LimitPrice, LimitPrices, Stability
from matcher.answers.briefs import difference, swaps
from matcher.answers.gains import gains
from matcher.answers.messages_limits import limit_says, price_says, stability_says
from matcher.answers.why import WhyQuestion, why_question
from matcher.search.catalog.catalog import Catalog
from matcher.search.packages import Found
from matcher.search.what_if.priced import Priced, every_price
from matcher.search.what_if.weights import Weighed, stable_weights, weighed


def answer_limits(catalog: Catalog, job: Job, version: int, *, weights: bool, besides: tuple[str, ...]) -> LimitPrices:
    """Return the best package without each limit; ``weights`` and ``besides`` as in `Shop.limits`."""
    why = why_question(catalog, job)
    best = why.possible.best()
    best_brief = None if best is None else why.brief(best, why.job)
    limits = [_price(why, one, best, best_brief) for one in every_price(why.possible, besides)]
    return LimitPrices(
        job_id=job.job_id,
        catalog_version=version,
        best=best_brief,
        limits=sorted(limits, key=lambda one: -(one.difference.points if one.difference else 0)),
        weights=_stability(why, best, best_brief) if weights and best is not None and best_brief is not None else [],
    )


def _price(why: WhyQuestion, one: Priced, best: Found | None, best_brief: Brief | None) -> LimitPrice:
    is_same = best is not None and one.found is not None and one.found.name == best.name
    package = best_brief if is_same else None if one.found is None else why.brief(one.found, one.job)
    price = LimitPrice(
        limit=one.name,
        value=limit_says(why.describer.question, one.name),
        costs=package is not None and not is_same,
        package=package,
        difference=None if package is None or best_brief is None else difference(best_brief, package),
    )
    return replace(price, says=price_says(price))


def _stability(why: WhyQuestion, best: Found, best_brief: Brief) -> list[Stability]:
    return [_stable(why, one, best_brief) for one in stable_weights(why.possible.catalog, why.job, best)]


def _stable(why: WhyQuestion, one: Weighed, best_brief: Brief) -> Stability:
    made = Stability(
        wish=one.wish,
        weight=one.weight,
        least=one.least,
        most=one.most,
        below=_beyond(why, one.wish, one.least - 1, one.below, best_brief),
        above=_beyond(why, one.wish, one.most + 1, one.above, best_brief),
    )
    return replace(made, says=stability_says(made))


def _beyond(why: WhyQuestion, wish: str, weight: int, found: Found | None, best_brief: Brief) -> Beyond | None:
    if found is None:
        return None
    package = why.brief(found, weighed(why.job, {wish: weight}))
    return Beyond(
        weight=weight, package=package, swaps=swaps(best_brief.lines, package.lines), gains=gains(best_brief, package)
    )
