"""Write docs/papers.md, a gallery of the papers, with its pictures: `python docs/papers_page.py`.

It is run by hand after papers have changed. `docs/generate.py --check` does not compare it: the pictures show a ranked
answer, so every change of a ranking would make them stale.
"""

from __future__ import annotations

import json
import tempfile
from datetime import date
from pathlib import Path

import typst
from drawings_page import demo_shop

from matcher.papers.model import Document
from matcher.papers.paper import KINDS, document
from matcher.papers.pdf import SHEET

DOCS = Path(__file__).resolve().parent
JOB, HEARD, DAY = "auk-unmeasured", "skua-work", date(2026, 11, 30)
PPI = 34
"""Resolution of the pictures: a page is some 30 kB, and its layout can be judged."""
HEAD = f"""<!-- Made by docs/papers_page.py: do not edit here. -->

# Papers

The papers of the demo's job `{JOB}`, as `boltback paper {JOB} all` writes them: PDF to print and HTML to
send, in English or German (`boltback settings language de`). Each picture is a page, small. The German proposal is of
`{HEARD}`: the present sound of its car is known, so each package is compared with it.
"""
SAYS = {
    "proposal": "For the customer: enough to choose and to sign on page 1, what is behind it on page 2.",
    "measuring": "To fill in at the car: a page for each place, what is not known first; none without need.",
    "fitting": "In the bay: cautions, order of work, the kit, a page for each place, wiring, templates at true size.",
    "setup": "Beside the meter: a row for each channel group with its target voltage and filter.",
    "handover-car": "Stays in the car: how everything goes back; not a word of security.",
    "handover-owner": "The owner's copy, with frames for photographs.",
}
SHOWN = {"measuring": (1,), "fitting": (2, -2)}
"""By the kind the pages that are shown; of others the first."""


def main() -> None:
    """Write the page and its pictures."""
    text = HEAD
    with tempfile.TemporaryDirectory() as folder:
        shop = demo_shop(Path(folder))
        for language, job, kinds in (("en", JOB, KINDS), ("de", HEARD, ("proposal",))):
            shop.set("language", language)
            dossier = shop.papers.dossier(job, on=DAY)
            for kind in kinds:
                text += f"\n## {document(dossier, kind).title}\n\n{SAYS[kind]}\n\n"
                text += "\n".join(_pictures(document(dossier, kind), kind, language)) + "\n"
    (DOCS / "papers.md").write_text(text, encoding="utf-8")


def _pictures(paper: Document, kind: str, language: str) -> list[str]:
    """Write the pictures of a paper; the lines that show them."""
    inputs = {"paper": json.dumps(paper.to_dict(), ensure_ascii=False)}
    pages = typst.compile(SHEET.read_bytes(), format="png", ppi=PPI, ignore_system_fonts=True, sys_inputs=inputs)
    shown = []
    for place in SHOWN.get(kind, (0,)):
        name = f"pictures/{kind}-{language}-{range(len(pages))[place] + 1}.png"
        (DOCS / name).write_bytes(pages[place])
        shown.append(f"![{paper.title}, page {range(len(pages))[place] + 1}]({name})")
    return shown


if __name__ == "__main__":
    main()
