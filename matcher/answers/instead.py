"""The best parts for each opening, as alternatives to the packages."""

from __future__ import annotations

from catalog_schema.answers import Alternative, PartsAt
from catalog_schema.jobs import Job
from matcher.answers.fitted import fitted_of
from matcher.answers.packages import Describer, price_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.question import question_of, wished
from matcher.search.what_if.forced import at_opening, best_instead


def parts_at(catalog: Catalog, job: Job, most: int) -> list[PartsAt]:
    """Return the best parts for each opening, with the score and price of the best package that contains them."""
    catalog = wished(catalog, job)
    found = best_instead(catalog, job, most)
    describer = Describer(catalog, question_of(catalog, job))
    describer.ask_fits({id(one): one for some in found.values() for one in some}.values())

    def alternatives(opening_id: str) -> list[Alternative]:
        return [
            Alternative(
                score=round(one.points / 100),
                price=price_of(fitted_of(one), catalog.settings),
                lines=[describer.line(at_opening(one, opening_id))],
            )
            for one in found[opening_id]
        ]

    return [PartsAt(opening_id=opening_id, best=alternatives(opening_id)) for opening_id in found]
