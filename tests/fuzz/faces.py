"""What is typed as a command, and what is sent to the page: hostile words wherever one can stand."""

from __future__ import annotations

import contextlib
import io
import sys


def run_command(words: list[str]) -> tuple[int, str]:
    from matcher.commands import main

    before, sys.argv = sys.argv, ["boltback", *words]
    said = io.StringIO()
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            main()
        return 0, said.getvalue()
    except SystemExit as ended:
        code = int(ended.code or 0)
        if code not in (0, 2, 3):
            raise AssertionError(f"it ended with {code}") from None
        return code, said.getvalue()
    finally:
        sys.argv = before
