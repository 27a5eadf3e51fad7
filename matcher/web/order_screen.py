"""A job's papers, and its order: open points, and the suppliers' documents."""

from __future__ import annotations

import io
import json
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.answers import Options
from catalog_schema.choices import Choice, OpenPoint
from matcher import Shop
from matcher.errors import InputError, NotKnown, StillOpen, StoreBusy
from matcher.papers.paper import FORMATS, KINDS, Paper
from matcher.shop.orders import ShopOrders
from matcher.shop.papers import ShopPapers
from matcher.web import asking
from matcher.web.access import PAPER_POLICY
from matcher.web.answers import Work
from matcher.web.job_path import job_facts
from matcher.web.pages import asked, opening_names, shop_of, show, single, who, whole_number
from matcher.web.questions import PageQuestion
from matcher.web.remarks import BoxRemark, remark_of
from matcher.web.waiting import still_working
from matcher.web.wording import text, word

CHOSEN = "chosen"
"""Name of a job's chosen package in an address."""
FURTHER = {"proposal": {"limits": asking.limits, "why": asking.why}, "measuring": {"measure": asking.measure}}
"""Further questions that each paper needs besides the packages."""
MEDIA = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}
PAPER_HEADERS = {"content-security-policy": PAPER_POLICY, "referrer-policy": "no-referrer", "x-robots-tag": "noindex"}


def paper(request: Request) -> Response:
    """One paper, to view or download; a browser shows progress."""
    job_id, kind, form = asked(request, "job"), asked(request, "kind"), asked(request, "format") or "html"
    wait_s = asking.PATIENCE_S if request.headers.get("sec-fetch-dest") == "document" else asking.LONG_PATIENCE_S
    answer, one = asking.ask(request, asking.standing(request, job_id), wait_s)
    made, one = (None, one) if answer is None else _made(request, answer, kind, form, wait_s)
    if made is None and wait_s < asking.LONG_PATIENCE_S:
        return still_working(request, "wait.paper", one.seconds, one.looking, stops="" if answer else job_id)
    if made is None:
        raise StoreBusy(f"the paper has been worked on for {one.seconds} s", fix="look again in a minute")
    name = f"inline; filename*=UTF-8''{quote(made.name)}"
    return Response(made.data, media_type=MEDIA[form], headers=PAPER_HEADERS | {"content-disposition": name})


def _made(request: Request, answer: Options, kind: str, form: str, wait_s: float) -> tuple[Paper | None, Work]:
    """A paper from cached answers only, without waiting for the price of limits or figures to measure.

    None if the packages are in progress.
    """
    if form not in FORMATS or kind not in KINDS:
        raise InputError("there is no such paper", fix=f"papers are {', '.join(KINDS)}, as {' or '.join(FORMATS)}")
    job_id, package = answer.job_id, asked(request, "package")
    further = {name: asking.kept(request, of(job_id)) for name, of in FURTHER.get(kind, {}).items()}
    rank = None if package == CHOSEN else _check_rank(package or "1", answer)
    rank = rank if answer.packages else None  # the proposal of a job without a package is about none
    question = PageQuestion(
        ShopPapers.many,
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
    made, one = asking.ask(request, question, wait_s, lane=f"{kind} {form}")
    return (None if made is None else made[0]), one


def _check_rank(package: str, answer: Options) -> int:
    """The rank of a package in the answer."""
    rank = whole_number(package, "package", least=1)
    ranks = [str(one.rank) for one in answer.packages]
    if ranks and package not in ranks:
        raise NotKnown("package", package, ranks)
    return rank


PAPERS = ("measuring", "fitting")
"""Papers needed before the parts arrive."""


def order(request: Request) -> Response:
    """Open points, and the order."""
    return _page(request, asked(request, "job"))


def _page(request: Request, job_id: str, error: InputError | None = None, note: str = "") -> Response:
    shop = shop_of(request)
    choice = shop.choices.latest(job_id)
    names = opening_names(shop, choice.vehicle_id) if choice else {}
    points, seconds = open_points(request, job_id, ShopOrders.open_points, error) if choice else (None, 0)
    return show(
        request,
        "order.html",
        400 if error else 200,
        **job_facts(shop, job_id, "order"),
        choice=choice,
        about=CHOSEN,
        kinds=PAPERS,
        orders=_orders(shop, choice, names) if choice else [],
        names=names,
        points=points,
        seconds=seconds,
        called=called(shop, choice, points),
        again=f"{request.url.path}?{request.url.query}",
        note=note,
        remarks={"reason": why_refused(error)} if error else {},
    )


def _orders(shop: Shop, choice: Choice, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """The lines of the order, each with the labels of its places."""
    sheet = shop.orders.order_list(choice)
    rows = [dict(zip(sheet.heads, cells, strict=True)) for cells in sheet.cells]
    return [
        row | {"for": [names.get(place) or word("slot", place) for place in str(row["for"]).split(", ")]}
        for row in rows
    ]


def why_refused(error: InputError) -> BoxRemark:
    """Message at the box for a reason; the open points are listed above it."""
    return BoxRemark(text("open.reason")) if isinstance(error, StillOpen) else remark_of(error)


def open_points(
    request: Request, job_id: str, asked_of: Callable[..., Any], refused: InputError | None = None
) -> tuple[list[OpenPoint] | None, int]:
    """Open points before an order or a signature, or None if in progress, with the seconds so far.

    Parameters
    ----------
    asked_of
        Method of the shop that finds them.
    refused
        A refusal just now, which names the open points.
    """
    if isinstance(refused, StillOpen):
        return refused.points, 0
    points, one = asking.ask(request, PageQuestion(asked_of, job_id, papers=True), asking.PATIENCE_S)
    return points, one.seconds


def called(shop: Shop, choice: Choice | None, points: list[OpenPoint] | None) -> dict[str, str]:
    """Labels of the figures among some points, by name."""
    names = [point.subject for point in points or () if point.what == "figure"]
    return shop.papers.figure_titles(choice, names) if choice and names else {}


def make_order(request: Request, form: FormData) -> Response:
    """Download the documents for all suppliers in one file; open points require a reason, which is logged."""
    shop, job_id, note = shop_of(request), single(form, "job"), single(form, "reason")
    with tempfile.TemporaryDirectory() as folder:
        try:
            shop.orders.sheets(job_id, folder=folder, anyway="anyway" in form, note=note or None, by=who(request))
        except InputError as error:
            return _page(request, job_id, error, note)
        packed = _packed(Path(folder))
    shop.orders.note(job_id, by=who(request))
    name = f"attachment; filename*=UTF-8''{quote(f'order-{job_id}.zip')}"
    return Response(packed, media_type="application/zip", headers={"content-disposition": name})


def _packed(folder: Path) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for path in sorted(folder.iterdir()):
            archive.write(path, path.name)
    return packed.getvalue()
