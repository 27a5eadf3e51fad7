"""A job's papers to look at and download, the package that is chosen, and links for a customer."""

from __future__ import annotations

from datetime import date
from typing import Any, cast
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from catalog_schema.answers import Options
from catalog_schema.choices import Choice, ChoiceChanges
from matcher.errors import InputError, StoreBusy
from matcher.papers.paper import FORMATS, KINDS, Paper
from matcher.web.answers import Answers
from matcher.web.guard import PAPER_POLICY
from matcher.web.job_screen import shop_of
from matcher.web.options_screen import PATIENCE_S, TOP, standing_answer
from matcher.web.pages import asked, count_in, go, show, single, who
from matcher.web.server_names import is_loopback

LONG_PATIENCE_S = 90.0
"""A paper that is asked for by itself waits so long for the ranking it tells of."""
DAYS = (3, 14, 60)
"""How long a customer's link may open."""
MEDIA = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}
PAPER_HEADERS = {"content-security-policy": PAPER_POLICY, "referrer-policy": "no-referrer", "x-robots-tag": "noindex"}


def papers(request: Request) -> Response:
    """Every paper of a job about one of its packages, the choice, and its links."""
    return _page(request, asked(request, "job"), asked(request, "package"), None)


def _page(request: Request, job_id: str, rank: str, fresh: str | None, status: int = 200) -> Response:
    shop = shop_of(request)
    document = shop.job_document(job_id).document
    answer, one = standing_answer(request, job_id, PATIENCE_S)
    ranks = [package.rank for package in answer.packages] if answer else []
    choice = shop.choice(job_id)
    changes, changing_s = _changes(request, job_id, choice) if choice and answer else (None, 0)
    facts: dict[str, Any] = {
        "changes": changes,
        "changing_s": changing_s,
        "job": document,
        "answer": answer,
        "seconds": one.seconds,
        "again": str(request.url),
        "packages": answer.packages if answer else [],
        "rank": count_in(rank, 0) if count_in(rank, 0) in ranks else ranks[0] if ranks else None,
        "kinds": KINDS,
        "choice": choice,
        "stamp": shop.stamp(job_id),
        "links": shop.links(job_id),
        "days": DAYS,
        "fresh": fresh,
        "alone": is_loopback(request.url.hostname or ""),
    }
    return show(request, "papers.html", status, **facts)


def _changes(request: Request, job_id: str, choice: Choice) -> tuple[ChoiceChanges | None, int]:
    """What has changed since the choice, or None while that is worked on, and for how many seconds."""
    shop, answers = shop_of(request), request.app.state.answers
    key = ("changes", shop.stamp(job_id), choice.number)
    changes, one = answers.ask(key, lambda: shop.choice_changes(job_id), PATIENCE_S)
    return changes, one.seconds


def paper(request: Request) -> Response:
    """One paper, to look at or to keep."""
    job_id, kind, form = asked(request, "job"), asked(request, "kind"), asked(request, "format") or "html"
    made = _made(request, job_id, kind, form, asked(request, "package"))
    name = f"inline; filename*=UTF-8''{quote(made.name)}"
    return Response(made.data, media_type=MEDIA[form], headers=PAPER_HEADERS | {"content-disposition": name})


def _made(request: Request, job_id: str, kind: str, form: str, rank: str) -> Paper:
    if form not in FORMATS or kind not in KINDS:
        raise InputError("there is no such paper", cure=f"papers are {', '.join(KINDS)}, as {' or '.join(FORMATS)}")
    answer, shop = _answered(request, job_id), shop_of(request)
    package = count_in(rank, 1)
    answers: Answers = request.app.state.answers
    key = ("paper", shop.stamp(job_id), kind, form, package, date.today())
    made, one = answers.ask(
        key,
        lambda: shop.papers(job_id, [kind], package=package, formats=[form], options=answer)[0],
        LONG_PATIENCE_S,
    )
    if made is None:
        raise StoreBusy(f"the paper has been worked on for {one.seconds} s", cure="look again in a minute")
    return cast("Paper", made)


def _answered(request: Request, job_id: str) -> Options:
    answer, one = standing_answer(request, job_id, LONG_PATIENCE_S)
    if answer is None:
        raise StoreBusy(f"the ranking has been worked on for {one.seconds} s", cure="look again in a minute")
    return answer


def choose(request: Request, form: FormData) -> Response:
    """Fix a package to the job, where the ranking is still the one that was looked at."""
    shop, job_id, rank = shop_of(request), single(form, "job"), single(form, "package")
    if single(form, "stamp") != shop.stamp(job_id):
        raise InputError(
            "the job, its car or the catalog changed since you looked: package numbers may mean others now",
            cure="look at the options again, then choose",
        )
    shop.choose(job_id, count_in(rank, 0), top=TOP, by=who(request))
    return go("/papers", job=job_id, package=rank)


def make_link(request: Request, form: FormData) -> Response:
    """Keep the proposal as it is now, for a customer to open; its address is shown this once."""
    shop, job_id, rank = shop_of(request), single(form, "job"), single(form, "package") or "1"
    days = int(single(form, "days")) if single(form, "days") in map(str, DAYS) else DAYS[0]
    page = _made(request, job_id, "proposal", "html", rank).data.decode()
    token = shop.add_link(job_id, f"proposal, package {rank}", page, days=days, by=who(request))
    address = f"{request.url.scheme}://{request.url.netloc}/see/{token}"
    return _page(request, job_id, rank, address)


def revoke_link(request: Request, form: FormData) -> Response:
    """Let a link open nothing any more."""
    return go("/papers", job=shop_of(request).revoke_link(single(form, "link"), by=who(request)))


def see(request: Request) -> Response:
    """What a customer's link opens: one proposal as it was offered, and nothing else."""
    page = shop_of(request).linked_page(request.path_params["token"])
    if page is None:
        return show(request, "gone.html", 404)
    return HTMLResponse(page, headers=PAPER_HEADERS)
