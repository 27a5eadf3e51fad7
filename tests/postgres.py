"""A PostgreSQL of the tests' own: a real server on loopback, in a folder that is thrown away with it."""

from __future__ import annotations

import ctypes
import itertools
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from matcher import Shop
from matcher.store.chain.address import read_address
from matcher.store.chain.session import ChainGone, Session

PASSWORD = "tests' own: no secret"
STARTS_IN_S = 60
CERTIFICATE, KEY = "server.crt", "server.key"


def programs() -> Path | None:
    """The folder of PostgreSQL's programs, of the newest version that is installed with openssl."""
    if shutil.which("openssl") is None:
        return None
    found = shutil.which("pg_ctl")
    folders = [Path(found).resolve().parent] if found else []
    folders += sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    return next((folder for folder in folders if (folder / "initdb").exists()), None)


@dataclass
class Postgres:
    """A server that runs, and how to reach it."""

    folder: Path
    port: int
    process: subprocess.Popen[bytes]
    free: list[str] = field(default_factory=list)
    names: Iterator[int] = field(default_factory=itertools.count)

    def address(self, database: str = "postgres", user: str = "owner") -> str:
        return f"postgresql://{user}@127.0.0.1:{self.port}/{database}"

    def session(self, database: str = "postgres", user: str = "owner") -> Session:
        return Session(read_address(self.address(database, user)))

    @contextmanager
    def lent(self) -> Iterator[Callable[[], str]]:
        names: list[str] = []

        def lend() -> str:
            names.append(self.free.pop() if self.free else self._made())
            return self.address(names[-1])

        yield lend
        for name in names:
            self.run("drop schema if exists boltback cascade", address=self.address(name))
        self.free += names

    def _made(self) -> str:
        name = f"chain{next(self.names)}"
        self.run(f"create database {name}")
        return name

    def run(self, *statements: str, address: str | None = None) -> list[tuple[object, ...]]:
        session = Session(read_address(address or self.address()))
        try:
            return [session.ask(statement) for statement in statements][-1]
        finally:
            session.close()


@contextmanager
def running(folder: Path) -> Iterator[Postgres]:
    """A server with its data in a folder, as an unprivileged user where we are root: it refuses to be root's."""
    found = programs()
    assert found is not None
    who = _unprivileged()
    if who is not None:
        os.chown(folder, who.pw_uid, who.pw_gid)
    secret = folder / "password"
    secret.write_text(PASSWORD, encoding="utf-8")
    secret.chmod(0o644)
    started = {"user": who.pw_uid, "group": who.pw_gid, "extra_groups": []} if who else {}
    initdb = [found / "initdb", "-D", folder / "data", "-U", "owner", "-A", "scram-sha-256", "--pwfile", secret]
    made = subprocess.run(
        [*initdb, "-E", "UTF8", "--no-locale", "--no-sync"], cwd=folder, capture_output=True, text=True, **started
    )
    assert made.returncode == 0, made.stderr
    port = _free_port()
    asked = {"listen_addresses": "127.0.0.1", "port": port, "unix_socket_directories": "", "fsync": "off"}
    for path in _certificate(folder):
        if who is not None:
            os.chown(path, who.pw_uid, who.pw_gid)
    asked |= {"ssl": "on", "ssl_cert_file": folder / CERTIFICATE, "ssl_key_file": folder / KEY}
    asked |= {"full_page_writes": "off", "wal_level": "minimal", "max_wal_senders": 0}
    asked |= {"max_connections": 200, "log_min_messages": "panic", "log_min_error_statement": "panic"}
    options = [word for name, value in asked.items() for word in ("-c", f"{name}={value}")]
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(
            [found / "postgres", "-D", folder / "data", *options],
            cwd=folder,
            stdout=log,
            stderr=log,
            preexec_fn=_end_with_us,
            **started,
        )
    try:
        _await(Postgres(folder, port, process), folder / "log")
        yield Postgres(folder, port, process)
    finally:
        process.send_signal(signal.SIGQUIT)  # at once: what it has not written yet nobody wants
        process.wait(30)


def _certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate for 127.0.0.1 that is signed by itself, and its key; openssl comes with Debian's PostgreSQL."""
    made = folder / CERTIFICATE, folder / KEY
    what = ["-subj", "/CN=boltback tests", "-addext", "subjectAltName=IP:127.0.0.1", "-days", "2"]
    command = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", *what, "-out", made[0], "-keyout", made[1]]
    subprocess.run(command, check=True, capture_output=True)
    made[1].chmod(0o600)
    return made


def _unprivileged() -> pwd.struct_passwd | None:
    if os.geteuid() != 0:
        return None
    users = {user.pw_name: user for user in pwd.getpwall()}
    return users.get("postgres") or users["nobody"]


def _end_with_us() -> None:
    ctypes.CDLL(None).prctl(1, signal.SIGQUIT)


def _free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return int(held.getsockname()[1])


def _await(server: Postgres, log: Path) -> None:
    ends = time.monotonic() + STARTS_IN_S
    while True:
        try:
            server.session().close()
            return
        except ChainGone:
            assert server.process.poll() is None, log.read_text(encoding="utf-8")
            assert time.monotonic() < ends, log.read_text(encoding="utf-8")
            time.sleep(0.05)


@contextmanager
def thrown_away() -> Iterator[Postgres]:
    """A server for a run of the tests."""
    with (
        tempfile.TemporaryDirectory(prefix="boltback-postgres-", dir="/tmp") as folder,
        running(Path(folder)) as server,
    ):
        yield server


@pytest.fixture(params=["duckdb", "postgres"])
def on_both(request: pytest.FixtureRequest) -> Callable[[Path], Path]:
    """Stores by themselves, and stores whose documents are kept in PostgreSQL, each in a chain of its own.

    A file of tests that is for both says ``stand = on_both``.
    """
    if request.param == "duckdb":
        return lambda path: path
    lend: Callable[[], str] = request.getfixturevalue("lend")

    def joined(path: Path) -> Path:
        Shop(path).sharing.join(lend())
        return path

    return joined
