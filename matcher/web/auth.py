"""Authentication: visitors, the shop's password, and limits on guessing it."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from ipaddress import ip_address

SESSION_S = 12 * 3600
"""A working day: then visitors have to sign in again."""
FREE_FAILURES = 3
"""Wrong passwords of an address before it has to wait; the wait then doubles with each."""
LONGEST_WAIT_S = 300.0
WINDOW_S = 3600.0
"""Time after which a wrong password no longer counts."""
MOST_ADDRESSES = 10_000
MOST_HASHED = 2
"""Passwords hashed at once."""
MOST_QUEUED = 6
"""Passwords waiting to be hashed; each holds a thread of the page."""
SCRYPT = {"n": 2**15, "r": 8, "p": 1, "maxmem": 64 * 1024 * 1024}
"""About 0.1 s and 32 MB per guess."""


def hash_password(password: str) -> str:
    """Return a salted, slow hash of a password."""
    salt = secrets.token_bytes(16)
    return f"scrypt${salt.hex()}${_scrypt(password, salt).hex()}"


def is_password(password: str, kept: str) -> bool:
    """Return whether a password matches a hash."""
    _, salt, digest = kept.split("$")
    return hmac.compare_digest(_scrypt(password, bytes.fromhex(salt)), bytes.fromhex(digest))


def _scrypt(password: str, salt: bytes) -> bytes:
    return hashlib.scrypt(password.encode(), salt=salt, dklen=32, **SCRYPT)


@dataclass
class Attempts:
    """Recent wrong passwords by address: an address that guesses waits longer and longer."""

    _failures: OrderedDict[str, tuple[int, float]] = field(default_factory=OrderedDict)
    """Consecutive wrong passwords by address, and the time of the last one."""
    _busy: set[str] = field(default_factory=set)
    """Addresses with a password being checked."""
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def begin(self, address: str, now: float | None = None) -> int:
        """Start an attempt, to be followed by `end`, or return the seconds that this address has to wait."""
        now = time.monotonic() if now is None else now
        network = network_of(address)
        with self._lock:
            count, last = self._failures.get(network, (0, 0.0))
            if last + WINDOW_S <= now:
                count = 0
            wait_s = last + min(LONGEST_WAIT_S, 2.0 ** (count - FREE_FAILURES)) - now if count >= FREE_FAILURES else 0
            if wait_s > 0:
                return int(wait_s) + 1
            if network in self._busy or len(self._busy) >= MOST_HASHED + MOST_QUEUED:
                return 1
            self._busy.add(network)
            return 0

    def end(self, address: str, *, right: bool, now: float | None = None) -> None:
        """End an attempt: a correct password clears the wrong ones."""
        now = time.monotonic() if now is None else now
        network = network_of(address)
        with self._lock:
            self._busy.discard(network)
            count, last = self._failures.pop(network, (0, 0.0))
            if not right:
                self._failures[network] = (count + 1 if last + WINDOW_S > now else 1), now
            while len(self._failures) > MOST_ADDRESSES:
                self._failures.popitem(last=False)


def network_of(address: str) -> str:
    """Return the address to count: for IPv6 the network of one customer.

    >>> network_of("192.0.2.7"), network_of("2001:db8:1:2:3::4")
    ('192.0.2.7', '2001:db8:1:2::')
    """
    try:
        found = ip_address(address)
    except ValueError:
        return address
    return str(found) if found.version == 4 else str(ip_address(int(found) >> 64 << 64))


@dataclass
class Auth:
    """A visitor, identified by a random cookie, and signed in if the shop has a password."""

    secret: bytes
    password_hash: str | None
    attempts: Attempts = field(default_factory=Attempts)
    _hashing: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(MOST_HASHED))
    _inside: dict[str, float] = field(default_factory=dict)

    def new_visitor(self) -> str:
        """Return an id that nobody can guess."""
        return secrets.token_urlsafe(32)

    def form_token(self, visitor: str) -> str:
        """Return the token of this visitor's forms, unknown to other sites."""
        return hmac.new(self.secret, f"form:{visitor}".encode(), hashlib.sha256).hexdigest()

    def is_form_token(self, visitor: str, token: str) -> bool:
        """Return whether a form's token is this visitor's."""
        return hmac.compare_digest(self.form_token(visitor).encode(), token.encode())

    def is_in(self, visitor: str) -> bool:
        """Return whether the visitor may use the page."""
        return self.password_hash is None or self._inside.get(visitor, 0.0) > time.monotonic()

    def let_in(self, password: str) -> str | None:
        """Return a new visitor's id if the password is correct: others may know the old id."""
        with self._hashing:
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
