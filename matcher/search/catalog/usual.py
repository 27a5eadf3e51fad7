"""Estimates for loudspeaker figures that are not stated, by size and kind, each with a proportional tolerance.

Common practice, no published source; every estimate is a setting of the shop.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

import numpy as np

from matcher.kernel.columns import Column, word_of
from matcher.kernel.exact import both, opposite, to_micro
from matcher.settings import Settings

MADE_OF = {
    "xmax_mm": ("size",),
    "sd_cm2": ("size", "kind"),
    "low_hz": ("kind",),
    "high_hz": ("kind",),
}
"""The estimated figures, and the fields on which they depend."""
NEAR = 0.08
"""Largest deviation of a stated size from a nominal one, as a share of it."""
INCH_MM = 25.4
CONES = ("coaxial", "component", "full_range", "midbass")


def with_estimates(name: str, column: Column, words: Mapping[str, Column], settings: Settings) -> Column:
    """Return a column of loudspeakers with an estimate for each unstated figure."""
    of = [words[word] for word in MADE_OF[name]]
    codes = np.stack([np.where(one.known, one.values, -1) for one in of])
    kinds, number = np.unique(codes, axis=1, return_inverse=True)
    usual = [
        usual_figure(name, [None if code < 0 else word_of(code) for code in kind], settings)
        for kind in kinds.T.tolist()
    ]
    found = np.array([0 if one is None else to_micro(one) for one in usual], np.int64)[number.ravel()]
    has = np.array([one is not None for one in usual])[number.ravel()]
    estimated = np.asarray(both(has, opposite(column.known)))
    tol = (found * to_micro(settings["estimate_share"])) // 10**6
    return Column(
        np.where(estimated, found, column.values),
        np.asarray(column.known) | estimated,
        np.where(estimated, tol, column.tol),
    )


def usual_figure(name: str, words: Sequence[str | None], settings: Settings) -> Decimal | None:
    """Return the usual figure of a loudspeaker of some size and kind; None if there is none.

    >>> from matcher.settings import DEFAULT_SETTINGS
    >>> usual_figure("xmax_mm", ["6 1/2 in"], DEFAULT_SETTINGS), usual_figure("xmax_mm", ["28 mm"], DEFAULT_SETTINGS)
    (Decimal('3.5'), None)
    """
    if name == "high_hz":
        return dict(settings.by_word("usual_high_hz")).get(words[0] or "")
    if name == "low_hz":
        if words[0] == "tweeter":
            return settings["usual_low_hz.tweeter"]
        return settings["usual_low_hz"] if words[0] in CONES else None
    size = usual_size(words[0] or "", settings)
    if size is None or (name == "sd_cm2" and words[1] == "tweeter"):
        return None
    if name == "xmax_mm":
        return settings[f"usual_xmax_mm.{size}"]
    return round(Decimal(_nominal_cm2(size)) * settings["usual_sd_share"], 1)


def usual_size(size: str, settings: Settings) -> str | None:
    """The nominal size nearest to a stated one; None if none is near."""
    usual = [word for word, _ in settings.by_word("usual_xmax_mm")]
    sides = re.search(r"(\d+)\s*[x×]\s*(\d+)", size)
    if sides:
        named = f"{sides[1]}x{sides[2]}"
        return named if named in usual else None
    from catalog_schema.figures import read_figure  # most fits ask for no estimate
    from catalog_schema.problems import FieldError

    try:
        read = read_figure(size, "mm")
    except FieldError:
        return None
    stated = 0.0 if read is None else float(read.value)
    nearest = min((word for word in usual if "x" not in word), key=lambda word: abs(float(word) - stated), default=None)
    return nearest if nearest and abs(float(nearest) - stated) <= NEAR * float(nearest) else None


def _nominal_cm2(size: str) -> float:
    """Area of a nominal size in inches: a circle or an ellipse."""
    if "x" not in size:
        return math.pi / 4 * (float(size) / 10) ** 2
    first, second = (float(side) * INCH_MM / 10 for side in size.split("x"))
    return math.pi / 4 * first * second
