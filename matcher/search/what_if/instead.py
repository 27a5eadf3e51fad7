"""The best parts for each opening: the best package with each of them there, ranked anew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from catalog_schema.jobs import Job
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import Candidate
from matcher.search.field import RankingField
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found, PackageCandidate
from matcher.search.question import question_of
from matcher.search.ranking import best_of


def best_instead(catalog: Catalog, job: Job, most: int) -> dict[str, list[Found]]:
    """By opening that head units or loudspeakers go into: the best package with each of its best parts, best first.

    Parameters
    ----------
    most
        How many parts to name for an opening.
    """
    question = question_of(catalog, job)
    field, limits = gather_field(catalog, question, CandidatePass(most)), sum_limits(question, job.limits.budget)
    first = best_of(field, limits)
    if first is None:
        return {}
    places = {question.dash_id: field.heads} if question.dash_id else {}
    return {
        place: [first, *islice(_further(field, place, some, first, limits), most - 1)]
        for place, some in (places | field.speakers).items()
    }


def at_opening(found: Found, opening_id: str) -> PackageCandidate:
    """The head unit or loudspeaker of a package at an opening."""
    slots = ("head_unit", "speaker")
    return next(one for one in found.fitted if one.candidate.opening_id == opening_id and one.candidate.slot in slots)


def _further(
    field: RankingField, place: str, some: Sequence[Candidate], found: Found, limits: SumLimits
) -> Iterator[Found]:
    """The best packages with other parts at an opening, each with another one than all before it."""
    left = list(some)
    while True:
        chosen = at_opening(found, place).candidate.part_id
        left = [one for one in left if one.part_id != chosen]
        is_dash = place == field.question.dash_id
        way = replace(field, heads=left) if is_dash else replace(field, speakers=field.speakers | {place: left})
        best = best_of(way, limits)
        if best is None:
            return
        found = best
        yield found
