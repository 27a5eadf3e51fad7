"""Serving the page: to this machine only, unless another host is named and it has a password."""

from __future__ import annotations

import os
import signal
import socket
import sys
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

import uvicorn

from matcher import Shop
from matcher.errors import InputError
from matcher.web.app import make_app
from matcher.web.auth import Auth
from matcher.web.connections import BoundedProtocol, bound_log
from matcher.web.server_names import is_loopback

LEAST_LETTERS = 10
BACKLOG = 128
"""Backlog of connections, and number accepted at once."""


def check_password(password: str) -> None:
    """Refuse a password that is easy to guess.

    Raises
    ------
    InputError
        if it is short, or one letter repeated.
    """
    if len(password) < LEAST_LETTERS or len(set(password)) < 4:
        raise InputError(
            f"the password is too easy to guess: {LEAST_LETTERS} letters or more, not all the same",
            fix="three or four words that have nothing to do with each other are good and easy to keep",
        )


def listen(host: str, port: int) -> socket.socket:
    """Return a socket that listens at an address.

    Raises
    ------
    InputError
        if the address is not of this machine, or the port is in use.
    """
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        held = socket.socket(family, socket.SOCK_STREAM)
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        held.bind((host, port))
        held.listen(BACKLOG)  # anyone who comes before the first answer waits
    except (OSError, OverflowError) as error:
        reason = error.strerror if isinstance(error, OSError) else "no such port"
        raise InputError(f"cannot listen at {host}:{port}: {reason}", fix="name another --port or --host") from None
    return held


def serve(
    shop: Shop,
    host: str,
    port: int,
    *,
    names: Iterable[str] = (),
    seconds: float | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> None:
    """Serve the page until it is stopped.

    Parameters
    ----------
    names
        Host names of the page, besides bare addresses and this machine's own name.
    seconds
        Time limit of a ranking; None: no limit.
    tell
        Called with messages for the user.

    Raises
    ------
    InputError
        if others could reach the page and it has no password.
    """
    kept = shop.page.password()
    if kept is None and not is_loopback(host):
        raise InputError(
            f"at {host} others could reach the page, and it has no password",
            fix="`boltback serve --set-password` gives it one; without --host only this machine reaches it",
        )
    held = listen(host, port)
    signal.signal(signal.SIGTERM, _end)
    with tempfile.TemporaryDirectory(prefix="boltback-page-") as folder:
        tempfile.tempdir = folder  # uploads, and whatever a list is unpacked into, lie in no other place
        shop.store.path = shop.store.path.resolve()  # a list is loaded from its own folder, by its bare name
        shop.store.confine(Path(folder))
        auth = Auth(secret=shop.page.secret(), password_hash=kept)
        known = {"localhost", socket.gethostname().lower(), *(name.lower() for name in names)}
        tell(_address(held, host))
        if not is_loopback(host):
            tell("nothing on the way is encrypted: put a server that speaks TLS in front, and let it alone reach this")
        app, answers = make_app(shop, auth, known, seconds)
        config = uvicorn.Config(
            app,
            http=BoundedProtocol,
            backlog=BACKLOG,
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=True,
            forwarded_allow_ips="127.0.0.1",
            timeout_graceful_shutdown=3,
        )
        bound_log()
        with suppress(SystemExit, KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[held])
        answers.close()
    sys.stderr.flush()
    os._exit(0)  # a request that still waits for an answer gets none


def _end(*_: object) -> None:
    """End cleanly on a signal, removing the page's folder."""
    raise SystemExit(0)


def _address(held: socket.socket, host: str) -> str:
    port = held.getsockname()[1]
    shown = f"[{host}]" if ":" in host else host
    return f"the counter's page is at http://{shown}:{port}/ (process {os.getpid()}; Ctrl-C ends it)"
