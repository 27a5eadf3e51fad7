"""README.md and docs/tour.md, run for real: every ``console`` block holds what its command prints."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]+)\n(?P<output>.*?)```", re.DOTALL)
EXAMPLE = re.compile(r"^```python\n(.*?)^```$", re.DOTALL | re.MULTILINE)
STORE = "boltback-demo/demo.duckdb"
ROOT = Path(__file__).resolve().parents[1]


SHIM = """#!/bin/sh
exec "{python}" -c "from matcher.commands import main; main()" "$@"
"""


@contextmanager
def command_folder() -> Iterator[Path]:
    """A folder in which commands can be run."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shim = folder / "boltback"
        shim.write_text(SHIM.format(python=sys.executable))
        shim.chmod(0o755)
        yield folder


@contextmanager
def demo_store() -> Iterator[Path]:
    """A folder with a new demo store, in which commands can be run."""
    with command_folder() as folder:
        run("boltback demo", folder)
        yield folder


def fresh(text: str, folder: Path) -> str:
    """The text with the output of every command as it is now; its examples in Python have to run."""
    for example in EXAMPLE.findall(text):
        run(f"{shlex.quote(sys.executable)} -c {shlex.quote(example)}", folder)
    return BLOCK.sub(lambda block: run(block["command"], folder), text)


def run(command: str, folder: Path) -> str:
    """A command's block as it ought to be, run in a folder that holds the demo store."""
    environment = os.environ | {
        "BOLTBACK_STORE": STORE,
        "COLUMNS": "100",
        "PATH": f"{folder}:{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
    }
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", command],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise ValueError(f"$ {command}\n{done.stderr}")
    return f"```console\n$ {command}\n{done.stdout}```"
