"""The page of probes: parts and cars made to fool the ranking, as the tests run them."""

from __future__ import annotations

import sys
from pathlib import Path

from markdown_text import plain, table

sys.path.append(str(Path(__file__).resolve().parents[1]))  # tests are no installed package

from tests.probes.every import SUBJECTS

HEAD = """# Probes

Parts and cars made to fool the ranking, and the result that must come out. `tests/probes/` holds each with its figures
and runs it.
"""


def probes_page() -> str:
    """A table for each subject."""
    parts = [HEAD]
    for subject, probes in SUBJECTS.items():
        rows = [[probe.name, plain(probe.trick), plain(probe.outcome)] for probe in probes]
        parts.append(f"## {subject}\n\n{table(['probe', 'made to fool the ranking', 'must come out'], rows)}\n")
    return "\n".join(parts)
