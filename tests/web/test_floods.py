"""Many strangers at once: half-sent heads, and guesses of the password. The shop's own page goes on."""

from __future__ import annotations

import logging
import re
import shutil
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, suppress
from pathlib import Path
from socket import create_connection, socket

import pytest

from matcher import Shop
from matcher.web.auth import FREE_FAILURES, LONGEST_WAIT_S, MOST_HASHED, MOST_QUEUED, WINDOW_S, Attempts, hash_password
from matcher.web.connections import MOST_LINES, FewLines
from tests.web.conftest import Page, Visitor, start, stop

FILES = 512
"""File descriptors of the page under test: the bound on connections is a third of them."""
HALF = b"GET /name HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: a"
PASSWORD = "ferry tide lantern"


def few_files(store: Path, log: Path) -> Page:
    """A page with few file descriptors, which writes its log into a file."""
    limit = f"import resource; resource.setrlimit(resource.RLIMIT_NOFILE, ({FILES}, {FILES}))"
    run = f"{limit}\nfrom matcher.commands import main; main()"
    command = [sys.executable, "-c", run, "serve", "--port", "0", "--store", str(store)]
    with log.open("w") as stderr:
        process = subprocess.Popen(command, stderr=stderr, text=True)
    while not (found := re.search(r":(\d+)/", log.read_text())):
        assert process.poll() is None, log.read_text()
        time.sleep(0.1)
    return Page(int(found[1]), store, process)


def hold(stack: ExitStack, port: int) -> None:
    """Open a connection and send half a head."""
    with suppress(OSError):
        line = stack.enter_context(create_connection(("127.0.0.1", port), timeout=2))
        line.sendall(HALF)


def test_half_sent_heads_neither_stop_the_page_nor_fill_its_log(demo_store: Path, tmp_path: Path) -> None:
    store, log = tmp_path / "shop.duckdb", tmp_path / "log"
    store.write_bytes(demo_store.read_bytes())
    served = few_files(store, log)
    try:
        assert served.visitor().get("/name").status == 200
        with ExitStack() as stack:
            for number in range(2 * FILES):
                hold(stack, served.port)
                if number % 128 == 127:
                    assert served.visitor().get("/name").status == 200
    finally:
        served.process.terminate()
        served.process.wait(30)
    assert len(log.read_text().splitlines()) <= 1 + 2 * MOST_LINES
    assert "Traceback" not in log.read_text()


def ends_after_s(line: socket) -> float:
    """Seconds until the page closes a connection."""
    begun = time.monotonic()
    with suppress(ConnectionError):
        line.recv(100)
    return time.monotonic() - begun


HEAD_S = 1.0
SHORT = f"from matcher.web.connections import Awaited; Awaited.HEAD._value_ = {HEAD_S}"
"""Less time for the head of a request than usual."""


def test_a_head_that_drips_is_cut_off_and_a_page_that_is_read_slowly_is_not(demo_store: Path, tmp_path: Path) -> None:
    page = start(Path(shutil.copy(demo_store, tmp_path / "shop.duckdb")), before=SHORT)
    with create_connection(("127.0.0.1", page.port), timeout=60) as line:
        line.sendall(HALF)
        time.sleep(HEAD_S / 2)
        line.sendall(b"b")  # more of the head does not put it off
        assert ends_after_s(line) < HEAD_S
    with create_connection(("127.0.0.1", page.port), timeout=60) as line:
        line.sendall(b"GET /name HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
        time.sleep(HEAD_S + 0.5)
        assert line.recv(100).startswith(b"HTTP/1.1 200")
    assert "Traceback" not in stop(page)


def test_the_log_has_some_lines_of_each_kind_and_the_number_of_the_rest() -> None:
    few, count = FewLines(), 5 * MOST_LINES

    def written(at: float, message: str) -> str | None:
        record = logging.LogRecord("asyncio", logging.ERROR, "", 0, message, (), None)
        record.created = at
        return record.getMessage() if few.filter(record) else None

    lines = [written(1.0, "no more files") for _ in range(count)]
    assert len([line for line in lines if line]) == MOST_LINES
    assert written(1.0, "another kind") == "another kind"
    assert written(100.0, "no more files") == f"no more files (and {count - MOST_LINES} more like the last)"
    assert written(200.0, "no more files") == "no more files"


# Guesses


def wrong(attempts: Attempts, address: str, now: float) -> int:
    """Send a wrong password; the seconds that the address has to wait instead, if it does."""
    wait_s = attempts.begin(address, now)
    if not wait_s:
        attempts.end(address, right=False, now=now)
    return wait_s


def test_an_address_waits_longer_with_each_wrong_password_and_no_other_address_does() -> None:
    attempts, now = Attempts(), 1000.0
    assert [wrong(attempts, "192.0.2.1", now) for _ in range(FREE_FAILURES)] == [0] * FREE_FAILURES
    waits = []
    for _ in range(12):
        waits.append(wrong(attempts, "192.0.2.1", now))
        now += waits[-1]
        assert wrong(attempts, "192.0.2.1", now) == 0
    assert waits == sorted(waits)
    assert waits[-1] == LONGEST_WAIT_S + 1
    assert attempts.begin("192.0.2.1", now) > 0
    assert attempts.begin("192.0.2.2", now) == 0  # fifty wrong ones from one address lock out nobody else
    assert attempts.begin("192.0.2.1", now + WINDOW_S) == 0


def test_a_right_password_forgives_the_wrong_ones() -> None:
    attempts = Attempts()
    for right in (False, False, True, False, False):
        assert attempts.begin("192.0.2.1", 1.0) == 0
        attempts.end("192.0.2.1", right=right, now=1.0)


def test_guesses_side_by_side_are_one_at_a_time_for_an_address_and_few_over_all() -> None:
    attempts = Attempts()
    assert attempts.begin("2001:db8::1", 1.0) == 0
    assert attempts.begin("2001:db8::2", 1.0) > 0  # of the same network
    others = [attempts.begin(f"192.0.2.{number}", 1.0) for number in range(20)]
    assert others.count(0) == MOST_HASHED + MOST_QUEUED - 1


@pytest.fixture
def locked(demo_store: Path, tmp_path: Path) -> Page:
    """A page with a password."""
    store = tmp_path / "shop.duckdb"
    store.write_bytes(demo_store.read_bytes())
    Shop(store).page.set_password(hash_password(PASSWORD))
    return start(store)


def sign_in(visitor: Visitor, password: str, address: str) -> int:
    """Sign in from an address, as a server in front of the page tells it; the status of the answer."""
    form = {"token": visitor.get("/sign-in").token, "password": password}
    return visitor.post("/sign-in", form, X_Forwarded_For=address).status


def test_a_hundred_guesses_take_little_memory_and_lock_out_nobody_else(locked: Page) -> None:
    try:
        with ThreadPoolExecutor(50) as pool:
            guesses = [pool.submit(sign_in, locked.visitor(), "guess", "198.51.100.7") for _ in range(100)]
            assert sign_in(locked.visitor(), PASSWORD, "192.0.2.9") == 303
            found = [guess.result() for guess in guesses]
        assert set(found) <= {403, 429}
        assert found.count(403) <= FREE_FAILURES + 5
        assert sign_in(locked.visitor(), PASSWORD, "192.0.2.10") == 303
        status = Path(f"/proc/{locked.process.pid}/status").read_text()
        peak_kb = int(re.findall(r"VmHWM:\s+(\d+)", status)[0])
        assert peak_kb < 400_000  # 1.4 GB where each guess was hashed at once
    finally:
        stop(locked)
