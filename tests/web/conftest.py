"""A live page over a small shop, and a browser to look at it with."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.factories import demo_shop

CHOSEN = "tern-spare"
"""The job that has a package fixed to it."""


@pytest.fixture(autouse=True)
def stores_stay_open() -> None:
    """Close stores after each use: the page uses them."""


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the demo's lists, vehicles and jobs."""
    path = tmp_path_factory.mktemp("demo") / "shop.duckdb"
    demo_shop(path).choices.choose(CHOSEN, 1)
    return path


@dataclass
class Answered:
    """What came back."""

    status: int
    headers: Any
    text: str

    @property
    def token(self) -> str:
        """The token of the forms on it."""
        found = re.search(r'name="token" value="(\w+)"', self.text)
        assert found is not None, self.text[:500]
        return found[1]

    def value_of(self, name: str) -> str:
        """What a hidden box of it holds."""
        found = re.search(rf'name="{name}" value="([^"]*)"', self.text)
        assert found is not None, name
        return found[1].replace("&#34;", '"').replace("&#39;", "'").replace("&amp;", "&")


class Visitor:
    """Somebody without a browser: plain HTTP, with a browser's cookies."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookies: dict[str, str] = {}

    def get(self, path: str, **headers: str) -> Answered:
        """Look at a page."""
        return self._send("GET", path, None, headers)

    def post(self, path: str, form: dict[str, Any] | bytes, **headers: str) -> Answered:
        """Send a form."""
        body = form if isinstance(form, bytes) else urlencode(form, doseq=True).encode()
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._send("POST", path, body, kind | headers)

    def send(self, path: str, **form: Any) -> Answered:
        """Send a form as the page has it, with its token."""
        return self.post(path, {"token": self.get("/name").token} | form)

    def _send(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> Answered:
        connection = HTTPConnection("127.0.0.1", self.port, timeout=120)
        cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        given = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, path, body, ({"Cookie": cookie} if cookie else {}) | given)
        answer = connection.getresponse()
        text = answer.read().decode("utf-8", "replace")
        self._remember(answer)
        connection.close()
        if "refresh" in answer.headers or answer.headers.get("location", "").startswith("/wait"):
            time.sleep(0.1)
            return self.get(answer.headers.get("location", path))
        return Answered(answer.status, answer.headers, text)

    def _remember(self, answer: HTTPResponse) -> None:
        for line in answer.headers.get_all("set-cookie") or ():
            name, _, value = line.partition(";")[0].partition("=")
            self.cookies[name] = value


@dataclass
class Page:
    """A page that is being served."""

    port: int
    store: Path
    process: subprocess.Popen[str]

    @property
    def url(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.port}"

    def visitor(self) -> Visitor:
        """Somebody new."""
        return Visitor(self.port)


def start(store: Path, *options: str, folder: Path | None = None, before: str = "") -> Page:
    """Serve a store on a free port; what it keeps for a while lies in ``folder``, ``before`` is run first."""
    environment = os.environ | {"PYTHONUNBUFFERED": "1"} | ({"TMPDIR": str(folder)} if folder else {})
    run = f"{before}\nfrom matcher.commands import main; main()"
    command = [sys.executable, "-c", run, "serve", "--port", "0", "--store", str(store), *options]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment)
    assert process.stderr is not None
    said = process.stderr.readline()
    found = re.search(r":(\d+)/", said)
    assert found is not None, said + (process.stderr.read() if process.poll() is not None else "")
    return Page(int(found[1]), store, process)


def stop(page: Page) -> str:
    """End it; what it said."""
    page.process.terminate()
    _, said = page.process.communicate(timeout=30)
    return said


@pytest.fixture(scope="module")
def page(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A page over a shop of the module's own; an error that it did not expect fails the module."""
    store = tmp_path_factory.mktemp("page") / "shop.duckdb"
    shutil.copy(demo_store, store)
    served = start(store)
    yield served
    said = stop(served)
    assert "Traceback" not in said, said


@pytest.fixture(scope="session")
def browser(chromium: Path) -> Iterator[Browser]:
    """The installed Chromium, without a window."""
    with sync_playwright() as playwright:
        quiet = ["--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
        found = playwright.chromium.launch(executable_path=str(chromium), args=quiet)
        yield found
        found.close()
