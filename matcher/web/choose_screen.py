"""The choice of a job: the chosen package, changes since then, and the customer's own page."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from catalog_schema.answers import Options
from catalog_schema.choices import Choice, ChoiceChanges
from catalog_schema.printable import is_name
from matcher.errors import InputError
from matcher.papers.numbers import Numbers
from matcher.papers.words import Words
from matcher.shop.choices import ShopChoices
from matcher.web import asking
from matcher.web.access import CUSTOMER_POLICY
from matcher.web.job_path import job_facts
from matcher.web.options_screen import tried_terms
from matcher.web.order_screen import CHOSEN
from matcher.web.pages import (
    ENVIRONMENT,
    LONGEST_NAME,
    asked,
    go,
    opening_names,
    shop_of,
    show,
    single,
    who,
    whole_number,
)
from matcher.web.questions import PageQuestion
from matcher.web.server_names import is_loopback

if TYPE_CHECKING:
    from matcher.papers.offer import Offer

DAYS = (3, 14, 60)
"""Validity of a customer's link."""
STYLES = Path(__file__).parent / "static" / "page.css"
"""A customer's page includes its style: it stays as it was offered."""
ASKED_HERE = "<!-- asked -->"
"""Where a customer's page shows the questions; no text of a page can contain it, since all are escaped."""
LONGEST_QUESTION = 1000
LINK_HEADERS = {"content-security-policy": CUSTOMER_POLICY, "x-robots-tag": "noindex"}


def choose(request: Request) -> Response:
    """The choice of a job, and the offer to its customer."""
    return _page(request, asked(request, "job"), None)


def _page(request: Request, job_id: str, fresh: str | None) -> Response:
    shop = shop_of(request)
    choice = shop.choices.latest(job_id)
    changes, changing_s = _changes(request, choice) if choice else (None, 0)
    facts: dict[str, Any] = {
        **job_facts(shop, job_id, "choose"),
        "choice": choice,
        "names": opening_names(shop, choice.vehicle_id) if choice else {},
        "changes": changes,
        "changing_s": changing_s,
        "again": str(request.url),
        "about": CHOSEN if choice else None,
        "links": shop.page.links(job_id),
        "notes": shop.page.notes(job_id),
        "days": DAYS,
        "fresh": fresh,
        "alone": is_loopback(request.url.hostname or ""),
    }
    return show(request, "choose.html", **facts)


def _changes(request: Request, choice: Choice) -> tuple[ChoiceChanges | None, int]:
    """Changes since the choice, or None if in progress, with the seconds so far."""
    question = PageQuestion(ShopChoices.changes, choice.job_id, papers=True)
    changes, one = asking.ask(request, question, asking.PATIENCE_S)
    return changes, one.seconds


def fix_choice(request: Request, form: FormData) -> Response:
    """Choose a package on the terms of its ranking, if the ranking is still the one shown."""
    shop, job_id = shop_of(request), single(form, "job")
    terms = tried_terms(shop.jobs.document(job_id).document, form)
    answer = asking.awaited(request, asking.on_terms(request, job_id, terms))
    asking.check_seen(request, form, job_id)
    stamp = asking.stamp_of(request, asking.standing(request, job_id))
    shop.choices.choose(job_id, single(form, "package"), terms=terms, by=who(request), seen=(stamp, answer))
    return go("/choose", job=job_id)


def make_link(request: Request, form: FormData) -> Response:
    """Save the current offer as a page for the customer; its address is shown only once."""
    shop, job_id = shop_of(request), single(form, "job")
    days = whole_number(single(form, "days") or str(DAYS[0]), "number of days", DAYS[0], DAYS[-1])
    answer: Options = asking.awaited(request, asking.standing(request, job_id))
    if not answer.packages:
        raise InputError("no package meets every limit: there is nothing to offer", fix="change a limit of the job")
    settings = shop.settings()
    numbers, words = Numbers(settings.word("language")), Words(settings.word("language"))
    mark = asking.mark_of(request, answer)
    offer: Offer = asking.awaited(request, asking.offer_question(answer, {}, mark, for_customer=True))
    what = "; ".join(f"{one.letter}: {one.card.total}" for one in offer.cards)
    page = ENVIRONMENT.get_template("customer.html").render(
        t=words,
        numbers=numbers,
        offer=offer,
        title=shop.jobs.document(job_id).document.get("label") or job_id,
        shop_name=settings.word("shop_name"),
        shop_contact=settings.word("shop_contact"),
        until=words.date(date.today() + timedelta(days=days)),
        css=Markup(STYLES.read_text("utf-8")),
        asked_here=Markup(ASKED_HERE),
    )
    token = shop.page.add_link(job_id, what, page, days=days, by=who(request))
    return _page(request, job_id, f"{request.url.scheme}://{request.url.netloc}/see/{token}")


def revoke_link(request: Request, form: FormData) -> Response:
    """Revoke a link."""
    return go("/choose", job=shop_of(request).page.revoke_link(single(form, "link"), by=who(request)))


def answer(request: Request, form: FormData) -> Response:
    """Answer the customer's questions."""
    job_id = single(form, "job")
    shop_of(request).page.answer(job_id, _one_line(form, "answer"), by=who(request))
    return go("/choose", job=job_id)


def _one_line(form: FormData, name: str) -> str:
    return " ".join(single(form, name).split())


def see(request: Request) -> Response:
    """Page of a customer's link: the offer as made, the questions with their answers, and nothing else."""
    return _seen(request)


def _seen(request: Request, status: int = 200, refusal: str = "", typed: str = "") -> Response:
    shop = shop_of(request)
    opened = shop.page.open_link(request.path_params["token"])
    if opened is None:
        return show(request, "gone.html", 404)
    settings = shop.settings()
    asked_here = ENVIRONMENT.get_template("asked.html").render(
        t=Words(settings.word("language")),
        notes=[one for one in shop.page.notes(opened.job_id) if one.kind != "accepted"],
        shop_name=settings.word("shop_name"),
        longest=LONGEST_QUESTION,
        refusal=refusal,
        typed=typed,
    )
    return HTMLResponse(opened.page.replace(ASKED_HERE, asked_here, 1), status, headers=LINK_HEADERS)


async def sent(request: Request) -> Response:
    """Record what a customer sends, a question or an acceptance: the address of the page is the permission."""
    async with request.form(max_files=0, max_fields=4) as form:
        if "question" in form:
            return await run_in_threadpool(_asked, request, _one_line(form, "question"))
        return await run_in_threadpool(_accepted, request, single(form, "letter"), single(form, "name"))


def _asked(request: Request, question: str) -> Response:
    if not 0 < len(question) <= LONGEST_QUESTION or not is_name(question):
        return _seen(request, 400, "customer.ask.refused", question[:LONGEST_QUESTION])
    if not shop_of(request).page.ask(request.path_params["token"], question):
        return _seen(request, 429, "customer.ask.enough", question)
    return RedirectResponse(f"{request.url.path}#asked", 303)


def _accepted(request: Request, letter: str, name: str) -> Response:
    shop = shop_of(request)
    is_named = name and len(name) <= LONGEST_NAME and is_name(name)
    taken = shop.page.accept_offer(request.path_params["token"], letter, name) if is_named else None
    if taken is None:
        return see(request)
    page = ENVIRONMENT.get_template("accepted.html").render(
        t=Words(shop.settings().word("language")), taken=taken, name=name, css=Markup(STYLES.read_text("utf-8"))
    )
    return HTMLResponse(page, headers=LINK_HEADERS)
