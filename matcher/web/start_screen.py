"""The first page of a new shop: name, currency, tax and prices; then the first list and the first car."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher import Shop
from matcher.errors import InputError
from matcher.settings import DEFAULTS, FIRST_SETTINGS, WORD_DEFAULTS, Settings
from matcher.web.pages import go, settings_of, shop_of, show, single, who
from matcher.web.remarks import BoxRemark, remark_of
from matcher.web.vehicle_form import FormBox
from matcher.web.wording import text, word


def _box(name: str) -> FormBox:
    if name in WORD_DEFAULTS:
        word = WORD_DEFAULTS[name]
        return FormBox(name, _sentence(word.meaning), "", word.choices, default=word.value)
    setting = DEFAULTS[name]
    unset = "" if name in FIRST_SETTINGS else text("box.default", default=f"{setting.value.normalize():f}")
    return FormBox(name, _sentence(setting.meaning), setting.unit, (), hint=unset)


def _sentence(meaning: str) -> str:
    return f"{meaning[:1].upper()}{meaning[1:]}"


BOXES = [_box(name) for name in dict.fromkeys((*FIRST_SETTINGS, *WORD_DEFAULTS, *DEFAULTS))]
"""A box for each setting, the most important first."""


def is_new(shop: Shop) -> bool:
    """Return whether a shop has neither parts nor cars yet."""
    return not shop.store.exists() or not (shop.catalog.holdings() or shop.vehicles.all().document["vehicles"])


def start(request: Request) -> Response:
    """The first settings, and the next steps."""
    return _start(request, _held(settings_of(request)), {})


def _held(settings: Settings) -> dict[str, str]:
    return {box.name: settings.given(box.name) or box.default for box in BOXES}


def _start(request: Request, fields: Mapping[str, str], remarks: Mapping[str, BoxRemark]) -> Response:
    shop = shop_of(request)
    is_there = shop.store.exists()
    return show(
        request,
        "start.html",
        400 if remarks else 200,
        boxes=BOXES[: len(FIRST_SETTINGS)],
        further=BOXES[len(FIRST_SETTINGS) :],
        choices=lambda box: [(one, word(box.name, one)) for one in box.choices],
        fields=fields,
        remarks=remarks,
        has_prices=is_there and all(settings_of(request).given(name) for name in FIRST_SETTINGS if name in DEFAULTS),
        has_parts=is_there and bool(shop.catalog.holdings()),
        has_vehicle=is_there and bool(shop.vehicles.all().document["vehicles"]),
    )


def save_start(request: Request, form: FormData) -> Response:
    """Save changed settings; an emptied box restores the default."""
    shop = shop_of(request)
    before = _held(settings_of(request))
    typed = {box.name: single(form, box.name) for box in BOXES if box.name in form}
    try:
        shop.set_all({name: value or None for name, value in typed.items() if value != before[name]}, by=who(request))
    except InputError as error:
        at_boxes = {one.column: remark_of(InputError("", problems=[one])) for one in error.problems}
        return _start(request, before | typed, at_boxes)
    return go("/start")
