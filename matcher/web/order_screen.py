"""The order of a job: what keeps it from being ordered, the documents for the suppliers, and the fitter's papers."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path
from urllib.parse import quote

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from catalog_schema.choices import Choice, OpenPoint
from matcher import Shop
from matcher.errors import InputError, StillOpen
from matcher.web import asking
from matcher.web.job_steps import steps_of
from matcher.web.pages import asked, shop_of, show, single, text, who
from matcher.web.papers_screen import CHOSEN
from matcher.web.questions import Question
from matcher.web.remarks import Remark, remark_of

PAPERS = ("measuring", "fitting")
"""Papers that are needed before the parts are there."""


def order(request: Request) -> Response:
    """What is open, and what is ordered."""
    return _page(request, asked(request, "job"))


def _page(request: Request, job_id: str, error: InputError | None = None, note: str = "") -> Response:
    shop = shop_of(request)
    choice = shop.choice(job_id)
    points, seconds = open_points(request, job_id, "order", error) if choice else (None, 0)
    return show(
        request,
        "order.html",
        400 if error else 200,
        job=shop.job_document(job_id).document,
        job_steps=steps_of(shop, job_id, "order"),
        choice=choice,
        about=CHOSEN,
        kinds=PAPERS,
        points=points,
        seconds=seconds,
        called=called(shop, choice, points),
        again=f"{request.url.path}?{request.url.query}",
        note=note,
        remarks={"reason": why_refused(error)} if error else {},
    )


def why_refused(error: InputError) -> Remark:
    """What is said at the box for a reason: what is open is listed over it."""
    return Remark(text("open.reason")) if isinstance(error, StillOpen) else remark_of(error)


def open_points(
    request: Request, job_id: str, what: str, refused: InputError | None = None
) -> tuple[list[OpenPoint] | None, int]:
    """What is open before a job can be ordered or signed, or None while that is worked on, and for how many seconds.

    ``refused`` is why it was not, which names what is open.
    """
    if isinstance(refused, StillOpen):
        return refused.points, 0
    points, one = asking.ask(request, Question(f"open_to_{what}", job_id, papers=True), asking.PATIENCE_S)
    return points, one.seconds


def called(shop: Shop, choice: Choice | None, points: list[OpenPoint] | None) -> dict[str, str]:
    """What the figures among some points are called, by their names."""
    names = [point.subject for point in points or () if point.what == "figure"]
    return shop.figure_titles(choice, names) if choice and names else {}


def make_order(request: Request, form: FormData) -> Response:
    """The documents for all suppliers in one file; if something is open, for a reason that is logged."""
    shop, job_id, note = shop_of(request), single(form, "job"), single(form, "reason")
    with tempfile.TemporaryDirectory() as folder:
        try:
            shop.order(job_id, folder=folder, anyway="anyway" in form, note=note or None, by=who(request))
        except InputError as error:
            return _page(request, job_id, error, note)
        packed = _packed(Path(folder))
    shop.note_ordered(job_id, by=who(request))
    name = f"attachment; filename*=UTF-8''{quote(f'order-{job_id}.zip')}"
    return Response(packed, media_type="application/zip", headers={"content-disposition": name})


def _packed(folder: Path) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for path in sorted(folder.iterdir()):
            archive.write(path, path.name)
    return packed.getvalue()
