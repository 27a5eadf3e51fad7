"""The rules of the trade: one file per subject, each rule one declaration.

Importing the package declares them all, so that a list of rules is always whole.
"""

from matcher.rules import (
    accessory,
    adapter,
    amp_board,
    bass,
    cargo,
    charging,
    dash,
    feed,
    film,
    holding,
    line_level,
    package,
    security,
    speaker,
    step,
    supply,
    wanted,
)

__all__ = [
    "accessory",
    "adapter",
    "amp_board",
    "bass",
    "cargo",
    "charging",
    "dash",
    "feed",
    "film",
    "holding",
    "line_level",
    "package",
    "security",
    "speaker",
    "step",
    "supply",
    "wanted",
]
