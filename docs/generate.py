"""Write everything that is made from the code: `python docs/generate.py [--check]`.

That is the pages in docs/, the published schemas, and the output of the commands in README and docs/tour.md,
which are run for it. With `--check` nothing is written: what is stale is named, and the exit code is 1.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from command_pages import commands_page
from drawings_page import drawings_page, samples
from pages import rules_page, settings_page, sources_page
from probes_page import probes_page
from schema_pages import schemas_page
from scoring_page import scoring_page
from tour import demo_store, fresh

from catalog_schema import publish
from catalog_schema.schemas import FOLDER

DOCS = Path(__file__).resolve().parent
TOURS = (DOCS.parent / "README.md", DOCS / "tour.md")
"""Pages by hand, with the output of commands in them."""
MARK = "<!-- Made from the code by docs/generate.py: do not edit here. -->\n\n"

PAGES = {
    "rules.md": rules_page,
    "settings.md": settings_page,
    "commands.md": commands_page,
    "sources.md": sources_page,
    "schemas.md": schemas_page,
    "scoring.md": scoring_page,
    "drawings.md": drawings_page,
    "probes.md": probes_page,
}


def texts() -> Iterator[tuple[Path, str]]:
    """Every generated file with the text it ought to have."""
    for name, page in PAGES.items():
        yield DOCS / name, MARK + page().rstrip() + "\n"
    for name, drawing in samples().items():
        yield DOCS / "pictures" / f"{name}.svg", str(drawing)
    for name, text in publish.texts():
        yield FOLDER / name, text


def tour() -> Iterator[tuple[Path, str]]:
    """README and the tour with the output that their commands have now."""
    with demo_store() as folder:
        for path in TOURS:
            before = path.read_text(encoding="utf-8")
            now = fresh(before, folder)
            if path.read_text(encoding="utf-8") != before:
                raise SystemExit(f"{path.name} was changed while its commands ran; it was not written. Run this again.")
            yield path, now


def is_fresh(path: Path, text: str) -> bool:
    """Whether a file holds this text; at which minute something was done does not count."""
    return path.is_file() and timeless(path.read_bytes().decode()) == timeless(text)


def timeless(text: str) -> str:
    """A text with every date and time made the same."""
    return re.sub(r"\b\d{4}-\d\d-\d\d \d\d:\d\d\b", "2000-01-01 00:00", text)


def main(arguments: list[str]) -> int:
    """Write what is stale, or with ``--check`` only name it."""
    if arguments not in ([], ["--check"]):
        print("use: python docs/generate.py [--check]", file=sys.stderr)
        return 2
    stale = [_settled(path, text, write=not arguments) for path, text in chain(texts(), tour())]
    if not any(stale):
        print("all fresh")
    elif arguments:
        print("fix: run `python docs/generate.py` and look at what it changed", file=sys.stderr)
    return 1 if any(stale) and arguments else 0


def _settled(path: Path, text: str, *, write: bool) -> bool:
    """Whether a file was stale; it is written, if at all, at once, so that a failing tour costs no page."""
    if is_fresh(path, text):
        return False
    if write:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(text.encode())
    print(f"{'written' if write else 'stale'}: {os.path.relpath(path, DOCS.parent)}", flush=True)
    return True


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
