"""Readings with the claims they replace, on the sheet of a part, opening or vehicle, where they can be voided."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher import Shop
from matcher.store.readings.claims import ClaimBeside
from matcher.store.readings.readings import Reading
from matcher.web.pages import go, inside, shop_of, single, who, whole_number


@dataclass(frozen=True, slots=True)
class MeasuredSubject:
    """Readings of a subject."""

    claims: list[ClaimBeside]
    """Current readings, each with its claim."""
    voided: list[Reading]


def measured(shop: Shop, subject: str) -> MeasuredSubject:
    """The readings of a subject, for its sheet."""
    return MeasuredSubject(
        shop.readings.beside_claims(subject), [one for one in shop.readings.all(subject) if one.voided is not None]
    )


def void_reading(request: Request, form: FormData) -> Response:
    """Void a reading, and return to its sheet."""
    number = whole_number(single(form, "number"), "reading", least=1)
    shop_of(request).readings.void(number, note=single(form, f"note-{number}"), by=who(request))
    return go(inside(single(form, "next")))
