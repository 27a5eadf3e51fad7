"""Who may come in: visitors, the shop's password, and how often it may be guessed."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from dataclasses import dataclass, field

SESSION_S = 12 * 3600
"""A working day: then one signs in again."""
MOST_FAILURES = 5
"""Wrong passwords from one address in the window before it has to wait."""
MOST_FAILURES_OF_ALL = 50
"""The same over all addresses: a guesser may have many."""
WINDOW_S = 300.0
SCRYPT = {"n": 2**15, "r": 8, "p": 1, "maxmem": 64 * 1024 * 1024}
"""About 0.1 s and 32 MB a guess."""


def hash_password(password: str) -> str:
    """A password as it may be kept: salted, and slow to guess."""
    salt = secrets.token_bytes(16)
    return f"scrypt${salt.hex()}${_scrypt(password, salt).hex()}"


def is_password(password: str, kept: str) -> bool:
    """Whether a password is the one that was kept."""
    _, salt, digest = kept.split("$")
    return hmac.compare_digest(_scrypt(password, bytes.fromhex(salt)), bytes.fromhex(digest))


def _scrypt(password: str, salt: bytes) -> bytes:
    return hashlib.scrypt(password.encode(), salt=salt, dklen=32, **SCRYPT)


@dataclass
class Attempts:
    """Wrong passwords of late, by address."""

    _failures: dict[str, deque[float]] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def wait_s(self, address: str, now: float | None = None) -> int:
        """Seconds until this address may try again, 0 where it may now."""
        now = time.monotonic() if now is None else now
        with self._lock:
            self._forget(now)
            own = self._failures.get(address, deque())
            every = sorted(when for failures in self._failures.values() for when in failures)
        waits = [
            times[-most] + WINDOW_S - now
            for times, most in ((list(own), MOST_FAILURES), (every, MOST_FAILURES_OF_ALL))
            if len(times) >= most
        ]
        return max(0, *(int(wait) + 1 for wait in waits)) if waits else 0

    def failed(self, address: str, now: float | None = None) -> None:
        """Remember a wrong password."""
        with self._lock:
            self._failures.setdefault(address, deque()).append(time.monotonic() if now is None else now)

    def _forget(self, now: float) -> None:
        for address, failures in list(self._failures.items()):
            while failures and failures[0] <= now - WINDOW_S:
                failures.popleft()
            if not failures:
                del self._failures[address]


@dataclass
class Door:
    """Who is in: a visitor has a random id in a cookie, and is signed in where the shop has a password."""

    secret: bytes
    password_hash: str | None
    attempts: Attempts = field(default_factory=Attempts)
    _inside: dict[str, float] = field(default_factory=dict)

    def new_visitor(self) -> str:
        """An id that nobody can guess."""
        return secrets.token_urlsafe(32)

    def form_token(self, visitor: str) -> str:
        """What a form of this visitor carries: another site's form does not know it."""
        return hmac.new(self.secret, f"form:{visitor}".encode(), hashlib.sha256).hexdigest()

    def is_form_token(self, visitor: str, token: str) -> bool:
        """Whether a form's token is this visitor's."""
        return hmac.compare_digest(self.form_token(visitor).encode(), token.encode())

    def is_in(self, visitor: str) -> bool:
        """Whether the visitor may see the shop."""
        return self.password_hash is None or self._inside.get(visitor, 0.0) > time.monotonic()

    def let_in(self, password: str) -> str | None:
        """A new visitor's id where the password is right: the old id may be known to others."""
        if self.password_hash is None or not is_password(password, self.password_hash):
            return None
        visitor = self.new_visitor()
        now = time.monotonic()
        self._inside = {one: until for one, until in self._inside.items() if until > now}
        self._inside[visitor] = now + SESSION_S
        return visitor

    def let_out(self, visitor: str) -> None:
        """Sign out."""
        self._inside.pop(visitor, None)
