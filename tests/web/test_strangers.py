"""Closed to strangers: who comes in, what is taken, and what an answer lets a browser do."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from socket import create_connection

import duckdb
import pytest

import data_demo
from matcher import Shop
from matcher.errors import InputError
from matcher.web.access import MOST_BYTES
from matcher.web.app import FORMS, SCREENS
from matcher.web.auth import FREE_FAILURES, hash_password, is_password
from matcher.web.server import check_password
from matcher.web.server_names import is_loopback, is_our_name
from tests.web.conftest import Page, start, stop

PASSWORD = "ferry tide lantern"


@pytest.mark.parametrize("path", sorted(FORMS))
def test_no_form_is_taken_without_its_token(page: Page, path: str) -> None:
    answer = page.visitor().post(path, {"label": "from elsewhere", "vehicle": "tern-8", "job": "tern-nocut"})
    assert answer.status == 403
    assert "from elsewhere" in answer.text  # what was typed is not lost: it can be sent again


def test_another_visitors_token_is_none(page: Page) -> None:
    own, other = page.visitor(), page.visitor()
    own.get("/name")
    assert own.post("/jobs", {"token": other.get("/name").token, "vehicle": "tern-8"}).status == 403


@pytest.mark.parametrize(
    "headers",
    [{"Origin": "http://elsewhere.example"}, {"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"}],
)
def test_a_form_of_another_site_is_refused_even_with_a_token(page: Page, headers: dict[str, str]) -> None:
    visitor = page.visitor()
    token = visitor.get("/name").token
    assert visitor.post("/jobs", {"token": token, "vehicle": "tern-8"}, **headers).status == 403
    assert visitor.post("/jobs", {"token": token, "vehicle": "tern-8"}, Origin=page.url).status == 303


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "elsewhere.example:80", "", "a b", "127.0.0.1.elsewhere.example"]
)
def test_it_goes_by_no_other_name(page: Page, host: str) -> None:
    assert page.visitor().get("/jobs", Host=host).status == 400


def test_a_bare_address_is_always_ours() -> None:
    assert is_our_name("192.0.2.7:8740", frozenset())


@pytest.mark.parametrize("path", ["/jobs", "/nowhere", "/static/page.css", "/job?job=none"])
def test_every_answer_closes_the_browser(page: Page, path: str) -> None:
    headers = page.visitor().get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"


def test_the_session_is_out_of_reach_of_scripts_and_other_sites(page: Page) -> None:
    cookie = page.visitor().get("/jobs").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie


@pytest.mark.parametrize("size", [MOST_BYTES, MOST_BYTES + 200_000])
def test_a_large_body_is_refused(page: Page, size: int) -> None:
    visitor = page.visitor()
    body = f"token={visitor.get('/name').token}&vehicle=tern-8&label=".encode()
    answer = visitor.post("/jobs", body + b"a" * (size - len(body)))
    assert (answer.status == 413) is (size > MOST_BYTES)


def test_a_large_body_of_unstated_size_is_refused(page: Page) -> None:
    with create_connection(("127.0.0.1", page.port), timeout=60) as line:
        head = "POST /jobs HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n"
        line.sendall(f"{head}Content-Type: application/x-www-form-urlencoded\r\n\r\n".encode())
        chunk = b"10000\r\n" + b"a" * 0x10000 + b"\r\n"
        try:
            for _ in range(2 * MOST_BYTES // 0x10000):
                line.sendall(chunk)
            line.sendall(b"0\r\n\r\n")
        except OSError:
            pass  # it hung up on us: as good as a refusal
        said = line.recv(200)
        assert said.startswith(b"HTTP/1.1 413") or not said


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS"])
def test_other_methods_are_refused(page: Page, method: str) -> None:
    assert page.visitor()._send(method, "/jobs", None, {}).status == 405


@pytest.mark.parametrize(
    "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static//etc/passwd", "/etc/passwd"]
)
def test_no_file_is_reached_by_its_path(page: Page, path: str) -> None:
    answer = page.visitor().get(path)
    assert answer.status == 404
    assert "import" not in answer.text
    assert "root:" not in answer.text


HOSTILE = "<script>alert(1)</script>\"'; drop table job; --"


@pytest.mark.parametrize("path", sorted({*SCREENS} - {"/"}))
def test_whatever_is_asked_for_is_only_text(page: Page, path: str) -> None:
    from urllib.parse import urlencode

    names = ("job", "vehicle", "opening", "part", "adapter", "next", "words", "family", "lift", "step", "saved")
    answer = page.visitor().get(f"{path}?{urlencode(dict.fromkeys(names, HOSTILE))}")
    assert answer.status in (200, 400, 404)
    assert "<script>alert" not in answer.text


def test_a_name_that_looks_like_markup_is_kept_and_shown_as_text(page: Page) -> None:
    visitor = page.visitor()
    assert visitor.send("/jobs", vehicle="tern-8", label=HOSTILE).status == 303
    shown = visitor.get("/jobs").text
    assert "&lt;script&gt;alert(1)" in shown
    assert "<script>alert" not in shown


# The password


def test_beyond_this_machine_it_wants_a_password(demo_store: Path) -> None:
    run = "from matcher.commands import main; main()"
    command = [sys.executable, "-c", run, "serve", "--host", "0.0.0.0", "--port", "0", "--store", str(demo_store)]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert ended.returncode == 2
    assert "--set-password" in ended.stderr


def test_with_a_password_nothing_is_seen_without_it(demo_store: Path, tmp_path: Path) -> None:
    store = tmp_path / "shop.duckdb"
    store.write_bytes(demo_store.read_bytes())
    Shop(store).page.set_password(hash_password(PASSWORD))
    page = start(store)
    try:
        visitor = page.visitor()
        for path in SCREENS:
            assert visitor.get(path).status == (200 if path == "/sign-in" else 303), path
        wrong = visitor.post("/sign-in", {"token": visitor.get("/sign-in").token, "password": "ferry"})
        assert wrong.status == 403
        before = dict(visitor.cookies)
        form = {"token": visitor.get("/sign-in").token, "password": PASSWORD, "next": "//elsewhere.example/"}
        right = visitor.post("/sign-in", form)
        assert (right.status, right.headers["location"]) == (303, "/")
        assert visitor.cookies["boltback"] != before["boltback"]  # an id known from before opens nothing
        assert visitor.get("/jobs").status == 200
        visitor.send("/sign-out")
        assert visitor.get("/jobs").status == 303
        for _ in range(4 * FREE_FAILURES):
            last = visitor.post("/sign-in", {"token": visitor.get("/sign-in").token, "password": "guess"})
            if last.status == 429:
                break
        assert last.status == 429
        assert int(last.headers["retry-after"]) > 0
    finally:
        stop(page)


def test_a_password_is_kept_as_a_hash_only(demo_store: Path, tmp_path: Path) -> None:
    shop = Shop(shutil.copy(demo_store, tmp_path / "shop.duckdb"))
    environment = os.environ | {"BOLTBACK_PASSWORD": PASSWORD}
    run = "from matcher.commands import main; main()"
    command = [sys.executable, "-c", run, "serve", "--set-password", "--store", str(shop.store.path)]
    assert subprocess.run(command, env=environment, capture_output=True, timeout=60).returncode == 0
    kept = shop.page.password()
    assert kept is not None
    assert PASSWORD not in kept
    assert is_password(PASSWORD, kept)
    assert not is_password(PASSWORD + " ", kept)


@pytest.mark.parametrize("password", ["", "short", "aaaaaaaaaaaa"])
def test_a_password_that_is_guessed_soon_is_refused(password: str) -> None:
    with pytest.raises(InputError):
        check_password(password)


@pytest.mark.parametrize(
    ("host", "alone"),
    [("127.0.0.1", True), ("127.0.0.2", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("::", False)],
)
def test_loopback_is_this_machine_alone(host: str, alone: bool) -> None:
    assert is_loopback(host) is alone


@pytest.mark.parametrize(
    "statement",
    [
        "select * from read_text('/etc/passwd')",
        "copy (select 1) to '{folder}/out.csv'",
        "attach '{folder}/third.duckdb'",
        "set enable_external_access = true",
    ],
)
def test_a_confined_store_reaches_no_other_file(demo_store: Path, tmp_path: Path, statement: str) -> None:
    shop = Shop(shutil.copy(demo_store, tmp_path / "shop.duckdb"))
    shop.page.secret()
    (tmp_path / "allowed").mkdir()
    shop.store.confine(tmp_path / "allowed")
    with shop.store.reading() as con, pytest.raises(duckdb.Error, match=r"disabled|while database is running"):
        con.execute(statement.format(folder=tmp_path))


def test_a_confined_store_still_takes_a_list_from_its_folder(tmp_path: Path) -> None:
    allowed = tmp_path / "allowed"
    allowed.mkdir()
    [films] = data_demo.lists()["film"]
    shutil.copy(films, allowed)
    shop = Shop(tmp_path / "shop.duckdb")
    shop.store.confine(allowed)
    assert shop.catalog.load(allowed / films.name, family="film").loaded > 0
