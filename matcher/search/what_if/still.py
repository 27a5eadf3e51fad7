"""Whether a package that was found with some limits lifted is one with fewer of them lifted too, and as good.

What it is asked of says yes only where that is sure: where it does not, the package may be one all the same.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from catalog_schema.jobs import Job, Without
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.fit import fit_parts
from matcher.search.fits.mounting import Question
from matcher.search.packages import Found
from matcher.search.question import HEAD_UNIT, allowed_step
from matcher.search.what_if.assumed import without_things

Things = frozenset[str]
"""Things beside a dash opening that need not stay reachable."""
NOTHING: Things = frozenset()


def candidates_of(found: Found) -> list[Candidate]:
    """Every candidate of a package, without what comes along."""
    return [one.candidate for one in found.fitted]


def altered(found: Found) -> list[tuple[str, int]]:
    """Every opening that a package alters, with the step: what comes along may alter a place of its own."""
    some = [each for one in candidates_of(found) for each in (one, *one.along)]
    return [(one.opening_id, one.step) for one in some if one.opening_id is not None]


def is_within(found: Found, loose: Job, tight: Job) -> bool:
    """Whether a package of a job surely keeps the alterations and the wishes for the head unit of a tighter one."""
    if any(step > allowed_step(tight, place) for place, step in altered(found)):
        return False
    if tight.pin != loose.pin or _parts_wished(tight) != _parts_wished(loose):
        return False  # whether its parts are wished is not told here
    head = next((one for one in candidates_of(found) if one.slot == HEAD_UNIT), None)
    least, asked, must = tight.limits.screen_min_in, loose.limits.screen_min_in, tight.limits.must or ()
    if least is not None and (asked is None or asked.value < least.value):
        return False  # how far its size is known is not told here
    if set(must) == set(loose.limits.must or ()):
        return True
    return head is not None and head.features is not None and not head.along and head.features.issuperset(must)


def is_bounded(found: Found, limits: SumLimits) -> bool:
    """Whether a package keeps within limits on the whole."""
    return limits.holds(found.cents, found.uses)


def is_tighter(job: Job, other: Job) -> bool:
    """Whether every package of a job is one of another that fills the same: each of its limits is no looser."""
    tight, loose = job.limits, other.limits
    places = {"", *tight.per_opening, *loose.per_opening}
    drain, most = tight.at_rest_ma, loose.at_rest_ma
    screen, least = tight.screen_min_in, loose.screen_min_in
    days, within = tight.deliver_within_days, loose.deliver_within_days
    return (
        all(allowed_step(job, place) <= allowed_step(other, place) for place in places)
        and (loose.budget is None or (tight.budget is not None and tight.budget <= loose.budget))
        and (drain == most or (drain is not None and most is not None and drain.value <= most.value))
        and (least is None or (screen is not None and screen.value >= least.value))
        and set(tight.must or ()).issuperset(loose.must or ())
        and job.pin == other.pin
        and tight.without == loose.without
        and (within is None or (days is not None and days <= within))
    )


def _parts_wished(job: Job) -> tuple[Without, int | None]:
    return job.limits.without, job.limits.deliver_within_days


@dataclass
class Behind:
    """What the rules say of head units behind the dash, with some things beside it covered."""

    catalog: Catalog
    vehicle_id: str
    dash_id: str | None
    _said: dict[tuple[Question, int, Things], str] = field(default_factory=dict)

    def is_same(self, found: Found, loose: Things, tight: Things) -> bool:
        """Whether they say the same to a package's head unit where fewer things may be covered."""
        if loose == tight:
            return True
        head = next((one for one in candidates_of(found) if one.slot == HEAD_UNIT), None)
        if head is None or head.part_id is None or self.dash_id is None:
            return False
        question = Question(head.part_id, HEAD_UNIT, self.vehicle_id, self.dash_id, "dash", head.adapter_id)
        said = self._verdict(question, head.step, loose)
        return said in (self._verdict(question, head.step, some) for some in (NOTHING, tight))

    def _verdict(self, question: Question, step: int, things: Things) -> str:
        key = (question, step, things)
        if key not in self._said:
            catalog = self.catalog
            if things:
                assert self.dash_id is not None
                catalog = without_things(catalog, self.vehicle_id, self.dash_id, things)
            self._said[key] = fit_parts(catalog, {question: step})[question].verdict
        return self._said[key]
