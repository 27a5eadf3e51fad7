"""Lists that are read beside the page, since that may take over a second: shown as far as they are, and stopped."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures import TimeoutError as StillWorking
from contextvars import copy_context
from threading import Thread

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from matcher.errors import NotKnown
from matcher.web import asking
from matcher.web.pages import asked, go, show, single

MOST_KEPT = 12
"""Pages that were made and wait for their visitor, at most."""
Tell = Callable[[str], None]
LOOK_AGAIN = {"refresh": "1"}
"""The page looks again after a second, without a script, too."""


class StoppedError(Exception):
    """A visitor has stopped the work: whatever it was about to change is as it was."""


class PageWork:
    """Work in a thread of its own, told what it is at; it ends when it next tells, if it is to be stopped."""

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
        """Have it end."""
        self._is_stopped = True

    @property
    def seconds(self) -> int:
        """Seconds since it was begun."""
        return int(time.monotonic() - self._started)


def patiently(request: Request, key: str, work: Callable[[Tell], Response]) -> Response:
    """The page that some work makes, if it is soon there; else the page that shows how far the work is.

    Parameters
    ----------
    key
        Nobody else's name for it.
    """
    works = _works(request)
    for name in [name for name, one in works.items() if one.future.done()][:-MOST_KEPT]:
        del works[name]
    works[key] = PageWork(work)
    return _page(request, key)


def waiting(request: Request) -> Response:
    """The page that the work makes, or how far it is."""
    return _page(request, asked(request, "key"))


def stop(request: Request, form: FormData) -> Response:
    """Stop the work; a search ends with what it has found."""
    key = single(form, "key")
    if not key:
        return asking.stop(request, form)
    if key in (works := _works(request)):
        works[key].stop()
    return go("/wait", key=key)


def still_working(
    request: Request, title: str, seconds: int, looking: str, *, key: str = "", stops: str = ""
) -> Response:
    """The page that shows how far something is, and looks again.

    Parameters
    ----------
    title
        The text that says what is worked on.
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
    try:
        answer = one.future.result(asking.PATIENCE_S)
    except StillWorking:
        if request.url.path != "/wait":
            return go("/wait", key=key)
        return still_working(request, "wait.list", one.seconds, one.looking, key=key)
    except StoppedError:
        del _works(request)[key]
        return go("/catalog")
    except BaseException:
        del _works(request)[key]
        raise
    del _works(request)[key]
    return answer
