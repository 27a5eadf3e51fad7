"""What is typed as a command, and what is sent to the page: hostile words wherever one can stand."""

from __future__ import annotations

import contextlib
import io
import os
import random
import sys
from pathlib import Path
from typing import Any

from matcher.web.app import FORMS, SCREENS
from tests.factories import every_command, speaker_opening, store_file, vehicle
from tests.factories import speaker as a_speaker
from tests.fuzz.hostile import WORDS
from tests.fuzz.targets import Thrown
from tests.web.conftest import start, stop

ASKED = (
    *("fit", "options", "why", "limits", "choose", "choice", "setup", "compare", "sign", "log", "rules", "settings"),
    *("calc", "reading add", "reading list", "vehicle show", "job show", "job supersede"),
    *("catalog show", "catalog diff", "catalog restore", "catalog history", "catalog refresh", "catalog detach"),
)
"""Commands that write no file that is named to them."""
KNOWN = ["speaker-1", "tern/door", "tern", "part:speaker-1", "opening:tern/door", "depth_mm", "labour_rate", "60", "4"]
NAMES = [
    *("subject", "field", "value", "by", "note", "tol", "basis", "vehicle", "job", "opening", "part"),
    *("adapter", "label", "words", "family", "problem", "version", "latest", "key", "do", "top", "package"),
    *("kind", "step", "name", "days", "mark", "stamp", "budget", "loudness", "bass", "price", "year"),
    *("system_v", "w_mm", "depth_mm", "alteration", "after"),
]
"""Fields of the page's forms and addresses."""


def commands() -> list[tuple[list[str], Any]]:
    """Every command that is tried, by the words that name it."""
    found = ((name.split(), command) for name, command in every_command())
    return [(words, command) for words, command in found if " ".join(words) in ASKED or words[0] in ASKED]


def typed(command: Any, luck: random.Random) -> list[str]:
    """Arguments and options of a command, some of them known words, the rest hostile."""
    words = []
    for one in command.params:
        option = one.param_type_name == "option"
        if one.name in ("store", "help", "out", "version") or (option and luck.random() < 0.6):
            continue
        word = luck.choice(KNOWN if luck.random() < 0.4 else WORDS)
        if option:
            words.append(one.opts[0])
        if not getattr(one, "is_flag", False):
            words.append(word.replace("\x00", "\\0").encode("utf-8", "replace").decode())
    return words


def throw_commands(folder: Path, most: int, seed: int = 1) -> tuple[Thrown, list[str]]:
    """So many commands; what went wrong, a line each."""
    luck, thrown, broken = random.Random(seed), Thrown(), []
    store = store_file(folder / "shop.duckdb", a_speaker(), vehicle(speaker_opening()))
    known = commands()
    for _ in range(most):
        path, command = luck.choice(known)
        words = [*path, *typed(command, luck), *(["--store", str(store)] if _has_store(command) else [])]
        thrown.tried += 1
        try:
            thrown.taken += run_command(words)[0] == 0
        except Exception as error:
            broken.append(f"{words}: {type(error).__name__}: {error}"[:400])
    return thrown, broken


def _has_store(command: Any) -> bool:
    return any(one.name == "store" for one in command.params)


def run_command(words: list[str]) -> tuple[int, str]:
    """Run a command; how it ended, and all that it said."""
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


def throw_forms(folder: Path, most: int, seed: int = 1) -> tuple[Thrown, list[str]]:
    """So many forms and addresses at a page that is being served."""
    luck, thrown, broken = random.Random(seed), Thrown(), []
    page = start(store_file(folder / "page.duckdb", a_speaker(), vehicle(speaker_opening())), folder=folder)
    try:
        visitor = page.visitor()
        token = visitor.get("/name").token
        for _ in range(most):
            form = {name: _word(luck) for name in luck.sample(NAMES, luck.randint(1, 8))}
            posts = luck.random() < 0.6
            path = luck.choice([*(FORMS if posts else SCREENS)])
            thrown.tried += 1
            if posts:
                status = visitor.post(path, {"token": token} | form).status
            else:
                from urllib.parse import urlencode

                status = visitor.get(f"{path}?{urlencode(form, errors='replace')}").status
            thrown.taken += status < 400
            if status >= 500:
                broken.append(f"{path} {form}: {status}"[:400])
    finally:
        said = stop(page)
    return thrown, broken + ([said[-1500:]] if "Traceback" in said else [])


def _word(luck: random.Random) -> str:
    return luck.choice(KNOWN if luck.random() < 0.4 else WORDS).encode("utf-8", "replace").decode()


os.environ.setdefault("BOLTBACK_BY", "Ada")
