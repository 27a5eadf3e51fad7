"""Limits for strangers: open connections, time for a request to arrive, and lines in the log."""

from __future__ import annotations

import asyncio
import logging
import resource
import time
from enum import Enum
from ipaddress import ip_address

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_CONNECTIONS = 400
MOST_OF_ONE = 60
"""Connections from one address, except this machine's, where a proxy may run."""
HEADER_S = 10.0
"""Time for the head of a request."""
BODY_PAUSE_S = 20.0
"""Longest pause within a body."""
MOST_LINES = 10
"""Lines of one kind in the log within `LINES_S`; further ones are counted."""
LINES_S = 60.0


class Awaited(Enum):
    """Reason to keep a connection open; its value is the pause after which it is closed."""

    HEAD = HEADER_S
    BODY = BODY_PAUSE_S
    NOTHING = None


class BoundedProtocol(H11Protocol):
    """HTTP with a limited number of connections; the slowest makes room for the next."""

    _awaited = Awaited.NOTHING
    _deadline: asyncio.TimerHandle | None = None
    _since = 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._watch()
        self._make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._watch()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._watch()

    def _owes(self) -> Awaited:
        if self.cycle is None or self.cycle.response_complete:
            return Awaited.HEAD
        return Awaited.BODY if self.cycle.more_body else Awaited.NOTHING

    def _watch(self) -> None:
        """Set the deadline for the rest of a request: data of a body extends it, data of a head does not."""
        owes = self._owes()
        if owes is self._awaited is Awaited.HEAD:
            return
        if self._deadline is not None:
            self._deadline.cancel()
        self._awaited, self._since = owes, time.monotonic()
        self._deadline = None if owes.value is None else self.loop.call_later(owes.value, self.transport.abort)

    def _make_room(self) -> None:
        """Close the slowest connection if there are too many, or this one."""
        every = [one for one in self.connections if isinstance(one, BoundedProtocol)]
        held = [one for one in every if not one.transport.is_closing()]
        address = self.client[0] if self.client else ""
        own = [one for one in held if one.client and one.client[0] == address]
        if len(own) > MOST_OF_ONE and not _is_own(address):
            self._abort_one(own)
        elif len(held) > most_connections():
            self._abort_one(held)

    def _abort_one(self, held: list[BoundedProtocol]) -> None:
        waiting = [one for one in held if one._awaited is not Awaited.NOTHING]
        min(waiting, key=lambda one: one._since, default=self).transport.abort()


def most_connections() -> int:
    """Open connections: each takes a file descriptor, and the store needs some."""
    soft, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    return MOST_CONNECTIONS if soft == resource.RLIM_INFINITY else min(MOST_CONNECTIONS, soft // 3)


def _is_own(address: str) -> bool:
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return False


class FewLines(logging.Filter):
    """Limits the lines of each kind in the log, and reports the number left out."""

    def __init__(self) -> None:
        super().__init__()
        self._kinds: dict[str, tuple[float, int]] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Return whether the record is written."""
        kind = str(record.msg)[:100]
        since, count = self._kinds.get(kind, (record.created, 0))
        if record.created - since >= LINES_S:
            if count > MOST_LINES:
                record.msg = f"{record.msg} (and {count - MOST_LINES} more like the last)"
            since, count = record.created, 0
        self._kinds[kind] = since, count + 1
        return count < MOST_LINES


def bound_log() -> None:
    """Limit what strangers can write into the log."""
    few = FewLines()
    for name in ("asyncio", "uvicorn.error"):
        logging.getLogger(name).addFilter(few)
