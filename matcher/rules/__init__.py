"""The rules of the trade: one file per subject, each rule one declaration.

Importing the package declares them all, so that a list of rules is always whole.
"""

from matcher.rules import (
    adapter,
    amp_board,
    dash,
    feed,
    holding,
    line_level,
    package,
    speaker,
    step,
    supply,
    wanted,
)

__all__ = [
    "adapter",
    "amp_board",
    "dash",
    "feed",
    "holding",
    "line_level",
    "package",
    "speaker",
    "step",
    "supply",
    "wanted",
]
