"""Every text of the page, read from `texts.toml`, by the place where it stands."""

from __future__ import annotations

import tomllib
from pathlib import Path

TEXTS: dict[str, str] = tomllib.loads(Path(__file__).with_suffix(".toml").read_text("utf-8"))
"""Place to text; what stands in braces is filled in."""
