"""The process that ranks beside the page, on a copy of the store.

Questions arrive by its connection to the page, each with a stamp of the store's state; replies return by it.
"""

from __future__ import annotations

import gc
import os
import shutil
import signal
import tempfile
import threading
import traceback
from contextlib import ExitStack
from importlib import import_module
from multiprocessing.connection import Connection
from pathlib import Path
from queue import SimpleQueue

from matcher import Shop
from matcher.collecting import collect_rarely
from matcher.errors import BoltbackError
from matcher.web.questions import PageQuestion, Reply

NICENESS = 10
"""Lower priority than the page."""
WANTED = ("matcher.answers.options", "matcher.answers.limits", "matcher.answers.measure", "matcher.answers.why")
"""Slow imports, done before the first question."""

Asked = tuple[PageQuestion, str | None]


def answer_questions(copy: Path, page: Connection) -> None:
    """Answer questions on a copy of the store until the page ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the page, which ends this one
    os.nice(NICENESS)
    os.chdir(copy.parent)
    tempfile.tempdir = str(copy.parent)
    asked: SimpleQueue[Asked] = SimpleQueue()
    threading.Thread(target=_listen, args=(page, asked, copy.parent), daemon=True).start()
    shop = Shop(copy)
    shop.store.confine(shop.store.path.parent)
    shop.store.keep_still()
    for name in WANTED:
        import_module(name)
    gc.freeze()  # what was imported is no garbage, and of an answer most lives as long as it takes
    collect_rarely()
    desk = Desk(shop)
    while True:
        page.send(desk.reply(*asked.get()))


def _listen(page: Connection, asked: SimpleQueue[Asked], folder: Path) -> None:
    """Receive questions; when the page has ended, remove the copy of the shop's data and exit."""
    while True:
        try:
            asked.put(page.recv())
        except (EOFError, OSError):
            shutil.rmtree(folder, ignore_errors=True)
            os._exit(0)


class Desk:
    """Keeps the copy of the store open until another replaces it."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._copy = ExitStack()
        self._is_open = False

    def reply(self, question: PageQuestion, stamp: str | None) -> Reply:
        """The answer if the copy has that stamp, or any if none is given; otherwise the copy's stamp."""
        found = ""
        if stamp is None:
            self._close()  # the copy is another one
        try:
            self._open()
            found = question.stamp(self._shop)
            if stamp in (None, found):
                return Reply(found, question.ask(self._shop, self._shop.store.path.parent))
            self._close()  # the copy is about to be written anew
            return Reply(found)
        except BoltbackError as error:
            return Reply(found, error=error)
        except Exception:
            self._close()
            # An error of ours may hold what no pickle can: its text goes, for anyone who started the page.
            return Reply(found, error=RuntimeError(traceback.format_exc()))

    def _open(self) -> None:
        if not self._is_open:
            self._copy.enter_context(self._shop.store.reading())
            self._is_open = True

    def _close(self) -> None:
        self._is_open = False
        self._copy.close()
