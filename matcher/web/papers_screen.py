"""A job's papers to look at and download, the package that is chosen, and links for a customer."""

from __future__ import annotations

import json
from datetime import date
from typing import Any, cast
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from catalog_schema.answers import Options
from catalog_schema.choices import Choice, ChoiceChanges
from matcher.errors import InputError, NotKnown, StoreBusy
from matcher.papers.paper import FORMATS, KINDS, Paper
from matcher.web import asking
from matcher.web.access import PAPER_POLICY
from matcher.web.answers import Urgency
from matcher.web.pages import asked, go, shop_of, show, single, who, whole_number
from matcher.web.questions import Question
from matcher.web.server_names import is_loopback

LONG_PATIENCE_S = 90.0
"""A paper that is asked for by itself waits so long for the ranking it tells of."""
CHOSEN = "chosen"
"""What the package that was fixed to a job is called in an address."""
FURTHER = {"proposal": ("limits", "why"), "measuring": ("measure",)}
"""By the paper: what it tells that the job is ranked again for."""
DAYS = (3, 14, 60)
"""How long a customer's link may open."""
MEDIA = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}
PAPER_HEADERS = {"content-security-policy": PAPER_POLICY, "referrer-policy": "no-referrer", "x-robots-tag": "noindex"}


def papers(request: Request) -> Response:
    """Every paper of a job about one of its packages, the choice, and its links."""
    return _page(request, asked(request, "job"), asked(request, "package"), None)


def _page(request: Request, job_id: str, package: str, fresh: str | None, status: int = 200) -> Response:
    shop = shop_of(request)
    document = shop.job_document(job_id).document
    answer, one = asking.standing_answer(request, job_id, asking.PATIENCE_S)
    ranks = [str(package.rank) for package in answer.packages] if answer else []
    choice = shop.choice(job_id)
    changes, changing_s = _changes(request, choice) if choice and answer else (None, 0)
    if package and package != CHOSEN and answer:
        _check_rank(package, answer)
    about = package if package in ranks else CHOSEN if choice else ranks[0] if ranks else ""
    facts: dict[str, Any] = {
        "changes": changes,
        "changing_s": changing_s,
        "job": document,
        "answer": answer,
        "seconds": one.seconds,
        "again": str(request.url),
        "packages": answer.packages if answer else [],
        "about": about,
        "chosen": CHOSEN,
        "kinds": KINDS if about else ("proposal",),
        "choice": choice,
        "stamp": asking.mark_of(request, answer) if answer else "",
        "links": shop.links(job_id),
        "days": DAYS,
        "fresh": fresh,
        "alone": is_loopback(request.url.hostname or ""),
    }
    return show(request, "papers.html", status, **facts | _further(request, answer))


def _changes(request: Request, choice: Choice) -> tuple[ChoiceChanges | None, int]:
    """What has changed since the choice, or None while that is worked on, and for how many seconds."""
    question = Question("choice_changes", choice.job_id, papers=True)
    changes, one = asking.ask(request, question, asking.PATIENCE_S)
    return changes, one.seconds


def _further(request: Request, answer: Options | None) -> dict[str, Any]:
    """What the papers tell beside the packages, as far as it is there: what limits cost, what decides, what helps."""
    if answer is None:
        return {"further": {}, "further_s": 0}
    job_id = answer.job_id
    if not answer.packages and not answer.complete:
        return {"further": {}, "further_s": 0}
    if not answer.packages:
        why, one = asking.ask(request, asking.why(job_id), 0.0, Urgency.BESIDE)
        return {"further": {"why": why}, "further_s": one.seconds}
    prices, seconds = asking.prices(request, job_id)
    is_open = any(package.verdict == "measure" for package in answer.packages)
    first = {"measure": asking.kept(request, asking.measure(job_id))} if is_open else {}
    return {"further": {"limits": prices} | first, "further_s": seconds}


def paper(request: Request) -> Response:
    """One paper, to look at or to keep."""
    job_id, kind, form = asked(request, "job"), asked(request, "kind"), asked(request, "format") or "html"
    made = _made(request, job_id, kind, form, asked(request, "package"))
    name = f"inline; filename*=UTF-8''{quote(made.name)}"
    return Response(made.data, media_type=MEDIA[form], headers=PAPER_HEADERS | {"content-disposition": name})


def _made(request: Request, job_id: str, kind: str, form: str, package: str) -> Paper:
    """A paper with what was worked out already: it does not wait for what limits cost, or what decides."""
    if form not in FORMATS or kind not in KINDS:
        raise InputError("there is no such paper", cure=f"papers are {', '.join(KINDS)}, as {' or '.join(FORMATS)}")
    answer = _answered(request, job_id)
    further = {name: asking.kept(request, asking.beside_paper(name, job_id)) for name in FURTHER.get(kind, ())}
    rank = None if package == CHOSEN else _check_rank(package or "1", answer)
    rank = rank if answer.packages else None  # the proposal of a job without a package is about none
    question = Question(
        "papers",
        job_id,
        json.dumps({"kinds": [kind], "package": rank, "formats": [form]}),
        about=(
            date.today(),
            asking.mark_of(request, answer),
            *(name for name, found in further.items() if found is not None),
        ),
        papers=True,
        beside={"options": answer, **further},
    )
    made, one = asking.ask(request, question, LONG_PATIENCE_S, lane=f"{kind} {form}")
    if made is None:
        raise StoreBusy(f"the paper has been worked on for {one.seconds} s", cure="look again in a minute")
    return cast("Paper", made[0])


def _check_rank(package: str, answer: Options) -> int:
    """The rank of a package that the answer has."""
    rank = whole_number(package, "package", least=1)
    ranks = [str(one.rank) for one in answer.packages]
    if ranks and package not in ranks:
        raise NotKnown("package", package, ranks)
    return rank


def _answered(request: Request, job_id: str) -> Options:
    answer, one = asking.standing_answer(request, job_id, LONG_PATIENCE_S)
    if answer is None:
        raise StoreBusy(f"the ranking has been worked on for {one.seconds} s", cure="look again in a minute")
    return answer


def choose(request: Request, form: FormData) -> Response:
    """Fix a package to the job, where the ranking is still the one that was looked at."""
    job_id, rank = single(form, "job"), single(form, "package")
    answer = _answered(request, job_id)
    if single(form, "stamp") != asking.mark_of(request, answer):
        raise InputError(
            "the job, its car or the catalog changed since you looked: package numbers may mean others now",
            cure="look at the options again, then choose",
        )
    seen = asking.stamp_of(request, asking.standing(request, job_id)), answer
    shop_of(request).choose(job_id, _check_rank(rank, answer), by=who(request), seen=seen)
    return go("/papers", job=job_id)


def make_link(request: Request, form: FormData) -> Response:
    """Keep the proposal as it is now, for a customer to open; its address is shown this once."""
    shop, job_id, rank = shop_of(request), single(form, "job"), single(form, "package") or "1"
    days = whole_number(single(form, "days") or str(DAYS[0]), "number of days", DAYS[0], DAYS[-1])
    page = _made(request, job_id, "proposal", "html", rank).data.decode()
    about = "the chosen package" if rank == CHOSEN else f"package {rank}"
    token = shop.add_link(job_id, f"proposal, {about}", page, days=days, by=who(request))
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
