"""A job's papers, made when they are asked for, to look at or to keep."""

from __future__ import annotations

import json
from datetime import date
from typing import cast
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Options
from matcher.errors import InputError, NotKnown, StoreBusy
from matcher.papers.paper import FORMATS, KINDS, Paper
from matcher.web import asking
from matcher.web.access import PAPER_POLICY
from matcher.web.pages import asked, whole_number
from matcher.web.questions import Question

LONG_PATIENCE_S = 90.0
"""A paper that is asked for by itself waits so long for the ranking it tells of."""
CHOSEN = "chosen"
"""What the package that was fixed to a job is called in an address."""
FURTHER = {"proposal": ("limits", "why"), "measuring": ("measure",)}
"""By the paper: what it tells that the job is ranked again for."""
MEDIA = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}
PAPER_HEADERS = {"content-security-policy": PAPER_POLICY, "referrer-policy": "no-referrer", "x-robots-tag": "noindex"}


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
    answer = answered(request, job_id)
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


def answered(request: Request, job_id: str) -> Options:
    """The answer to a job as it stands, however long it takes.

    Raises
    ------
    StoreBusy
        if it is not there after `LONG_PATIENCE_S`.
    """
    answer, one = asking.standing_answer(request, job_id, LONG_PATIENCE_S)
    if answer is None:
        raise StoreBusy(f"the ranking has been worked on for {one.seconds} s", cure="look again in a minute")
    return answer
