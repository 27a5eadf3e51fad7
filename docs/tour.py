"""The tour in README.md, run for real: every ``console`` block holds what its command prints."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

BLOCK = re.compile(r"```console\n\$ (?P<command>[^\n]+)\n(?P<output>.*?)```", re.DOTALL)
STORE = "boltback-demo/demo.duckdb"


def fresh(text: str) -> str:
    """The text with the output of every command as it is now, on a new demo store."""
    with tempfile.TemporaryDirectory() as folder:
        return BLOCK.sub(lambda block: run(block["command"], Path(folder)), text)


def run(command: str, folder: Path) -> str:
    """A command's block as it ought to be, run in a folder that holds the demo store from its first command on."""
    words = shlex.split(command)
    if words[0] != "boltback":
        raise ValueError(f"the tour runs boltback, not {words[0]}")
    environment = os.environ | {"BOLTBACK_STORE": STORE, "COLUMNS": "100"}
    run = [sys.executable, "-c", "from matcher.commands import main; main()", *words[1:]]
    done = subprocess.run(run, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise ValueError(f"$ {command}\n{done.stderr}")
    return f"```console\n$ {command}\n{done.stdout}```"
