"""A sitting: questions that share what they read of the catalog, as at a counter where one is asked after the other."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matcher.search.fits.sweep import Sweeps
    from matcher.settings import Settings
    from matcher.store.connection import Connection

MOST_QUESTIONS = 60
"""After so many questions on one vehicle all is read anew: what none of them asks for any more is let go."""


class Sitting:
    """One connection, and what was read on it for the questions so far.

    Parameters
    ----------
    con
        A connection that lasts as long as the sitting.
    """

    def __init__(self, con: Connection) -> None:
        self.con = con
        self._thread = threading.get_ident()
        self._kept: Sweeps | None = None
        self._ground = ""
        self._asked = 0
        self._others = self._laid()

    def is_here(self) -> bool:
        """Whether whoever asks is the one who sits here: a connection is no two threads' at once."""
        return self._thread == threading.get_ident()

    def sweeps(self, ground: str, settings: Settings) -> Sweeps:
        """What was read for the questions before, where they stood on the same ground; else nothing yet."""
        from matcher.search.fits.sweep import Sweeps

        self._asked += 1
        if self._kept is None or self._ground != ground or self._asked > MOST_QUESTIONS:
            self._let_go()
            self._kept, self._ground, self._asked = Sweeps(self.con, settings), ground, 1
        return self._kept

    def _let_go(self) -> None:
        for kind, name in sorted(self._laid() - self._others, reverse=True):  # a view before its tables
            self.con.execute(f'DROP {kind} temp."{name}"')
        self._kept = None

    def _laid(self) -> set[tuple[str, str]]:
        """What is laid on the connection for as long as it lasts."""
        rows = self.con.execute(
            "SELECT 'TABLE', table_name FROM duckdb_tables() WHERE temporary "
            "UNION ALL SELECT 'VIEW', view_name FROM duckdb_views() WHERE temporary AND NOT internal"
        ).fetchall()
        return set(rows)
