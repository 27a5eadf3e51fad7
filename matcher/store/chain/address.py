"""Address of a chain's PostgreSQL, ``postgresql://USER@HOST:PORT/DATABASE``, and its password.

A password is never part of an address, where the list of processes and the store's file would expose it.
"""

from __future__ import annotations

import ipaddress
import os
import re
import stat
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qs, quote, unquote, urlsplit

from matcher.errors import InputError

PORT = 5432
SSL_MODES = ("disable", "require", "verify-full")
"""PostgreSQL's own names: unencrypted, encrypted, encrypted with the server's certificate checked."""
SHAPE = "postgresql://USER@HOST/DATABASE"


@dataclass(frozen=True, slots=True)
class Address:
    """A database on a server, and its user."""

    user: str
    host: str
    port: int
    database: str
    ssl_mode: str
    ssl_root: str | None
    """A file with trusted certificates; None for those of the system."""

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        port = "" if self.port == PORT else f":{self.port}"
        options = {"sslmode": self.ssl_mode if self.ssl_mode != default_ssl(self.host) else None}
        options |= {"sslrootcert": self.ssl_root}
        query = "&".join(f"{name}={quote(value)}" for name, value in options.items() if value)
        return f"postgresql://{quote(self.user)}@{host}{port}/{quote(self.database)}{'?' if query else ''}{query}"


def read_address(text: str) -> Address:
    """Parse an address.

    >>> str(read_address("postgresql://counter@127.0.0.1:5433/chain"))
    'postgresql://counter@127.0.0.1:5433/chain'
    >>> read_address("postgresql://counter@db.example/chain").ssl_mode
    'verify-full'

    Raises
    ------
    InputError
        if it is invalid, or contains a password.
    """
    try:
        parts = urlsplit(text)
        port = parts.port
        query = {name: values[-1] for name, values in parse_qs(parts.query, strict_parsing=bool(parts.query)).items()}
    except ValueError:
        raise _refusal("an address") from None
    if parts.password is not None:
        raise InputError(
            "the address of a chain holds no password: others would see it",
            fix="leave it out, and put it into ~/.pgpass or PGPASSWORD",
        )
    database = unquote(parts.path.removeprefix("/"))
    if parts.scheme not in ("postgresql", "postgres") or not (parts.hostname and parts.username and database):
        raise _refusal("an address")
    strange = sorted(query.keys() - {"sslmode", "sslrootcert"})
    if strange:
        raise _refusal(f"sslmode and sslrootcert alone, not {strange[0]},")
    ssl_mode = query.get("sslmode", default_ssl(parts.hostname))
    if ssl_mode not in SSL_MODES:
        raise _refusal(f"an sslmode, one of {', '.join(SSL_MODES)},")
    return Address(unquote(parts.username), parts.hostname, port or PORT, database, ssl_mode, query.get("sslrootcert"))


def _refusal(expected: str) -> InputError:
    return InputError(f"the address of a chain: expected {expected} such as {SHAPE}")


def default_ssl(host: str) -> str:
    """Return the default SSL mode: none within this machine, else encryption with the server verified."""
    return "disable" if is_here(host) else "verify-full"


def is_here(host: str) -> bool:
    """Whether a host is this machine's loopback.

    >>> is_here("localhost"), is_here("127.0.0.1"), is_here("::1"), is_here("db.example")
    (True, True, True, False)
    """
    with suppress(ValueError):
        return ipaddress.ip_address(host).is_loopback
    return host == "localhost"


def password_of(address: Address) -> str | None:
    """Return the password from PGPASSWORD, or from the file PGPASSFILE or ~/.pgpass, as PostgreSQL's programs do.

    Raises
    ------
    InputError
        if others than its owner may read that file.
    """
    if password := os.environ.get("PGPASSWORD"):
        return password
    path = Path(os.environ.get("PGPASSFILE") or Path.home() / ".pgpass")
    try:
        text, mode = path.read_text(encoding="utf-8"), path.stat().st_mode
    except (OSError, UnicodeDecodeError):
        return None
    if mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise InputError(f"{path} holds passwords, and others may read it", fix=f"chmod 600 {path}")
    wanted = (address.host, str(address.port), address.database, address.user)
    return next((word for *entry, word in _lines(text) if all(map(_is, entry, wanted))), None)


def _lines(text: str) -> Iterator[list[str]]:
    """Yield the entries of a password file: host, port, database, user, password; a backslash escapes : and itself."""
    for line in text.splitlines():
        cells = [re.sub(r"\\(.)", r"\1", cell) for cell in re.findall(r"((?:\\.|[^:\\])*)(?::|$)", line)]
        if len(cells) >= 5 and not line.startswith("#"):
            yield cells[:5]


def _is(pattern: str, wanted: str) -> bool:
    return pattern in ("*", wanted)
