"""Slow work beside the page, such as reading a list: shown with its progress, and can be stopped."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import Future, wait
from contextvars import copy_context
from threading import Thread

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher.errors import NotKnown
from matcher.web import asking
from matcher.web.pages import asked, go, show, single

MOST_KEPT = 12
"""Most finished pages waiting for their visitors."""
Tell = Callable[[str], None]
LOOK_AGAIN = {"refresh": "1"}
"""The page refreshes after a second, also without JavaScript."""


class StoppedError(Exception):
    """A visitor stopped the work: nothing has changed."""


class PageWork:
    """Work in a thread of its own that reports progress; a stop takes effect at its next report."""

    def __init__(self, work: Callable[[Tell], Response]) -> None:
        self.looking, self._is_stopped, self._started = "", False, time.monotonic()
        self.future: Future[Response] = Future()
        Thread(target=copy_context().run, args=(self._run, work), daemon=True).start()

    def _run(self, work: Callable[[Tell], Response]) -> None:
        try:
            self.future.set_result(work(self._tell))
        except BaseException as error:  # it is for the visitor who waits
            self.future.set_exception(error)

    def _tell(self, text: str) -> None:
        self.looking = text
        if self._is_stopped:
            raise StoppedError

    def stop(self) -> None:
        """Stop the work."""
        self._is_stopped = True

    @property
    def seconds(self) -> int:
        """Seconds since its start."""
        return int(time.monotonic() - self._started)


def patiently(request: Request, key: str, work: Callable[[Tell], Response]) -> Response:
    """Return the page that some work produces, if it is quick; otherwise a page that shows progress.

    Parameters
    ----------
    key
        Unique name of the work.
    """
    works = _works(request)
    for name in [name for name, one in works.items() if one.future.done()][:-MOST_KEPT]:
        del works[name]
    works[key] = PageWork(work)
    return _page(request, key)


def waiting(request: Request) -> Response:
    """Return the result of the work, or its progress."""
    return _page(request, asked(request, "key"))


def stop(request: Request, form: FormData) -> Response:
    """Stop the work; a search ends with its results so far."""
    key = single(form, "key")
    if not key:
        return asking.stop(request, form)
    if key in (works := _works(request)):
        works[key].stop()
    return go("/wait", key=key)


def still_working(
    request: Request, title: str, seconds: int, looking: str, *, key: str = "", stops: str = ""
) -> Response:
    """Return a page that shows progress and refreshes.

    Parameters
    ----------
    title
        Text that names the work.
    key, stops
        The work, or the job's search, that can be stopped.
    """
    here = f"{request.url.path}?{request.url.query}"
    facts = {"title": title, "seconds": seconds, "looking": looking, "key": key, "stops": stops, "here": here}
    page = show(request, "wait.html", 202, **facts)
    page.headers.update(LOOK_AGAIN)
    return page


def _works(request: Request) -> dict[str, PageWork]:
    works: dict[str, PageWork] = request.app.state.works
    return works


def _page(request: Request, key: str) -> Response:
    one = _works(request).get(key)
    if one is None:
        raise NotKnown("work", key[:40], [], fix="it was shown already, or stopped")
    if not wait([one.future], asking.PATIENCE_S).done:
        if request.url.path != "/wait":
            return go("/wait", key=key)
        return still_working(request, "wait.list", one.seconds, one.looking, key=key)
    _works(request).pop(key, None)  # two requests may wait for it
    try:
        return one.future.result()
    except StoppedError:
        return go("/catalog")
