"""Two amplifiers of a package on one spot, checked in their best arrangement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import product

import numpy as np

from catalog_schema.answers import VERDICT_ORDER, Check, worst
from matcher.answers.messages import BESIDE
from matcher.kernel.columns import Column, Columns
from matcher.rules.amp_pair import ALONG, PAIR
from matcher.rules.rule import rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.holes import chosen
from matcher.search.packages import PackageCandidate
from matcher.search.question import JobQuestion

WHICH = ("along", "across")


def pair_checks(catalog: Catalog, question: JobQuestion, fitted: Sequence[PackageCandidate]) -> list[Check]:
    """Check two amplifiers that share a spot; None if none do."""
    some = [one.candidate for one in fitted if one.candidate.slot in ("amplifier", "bass_amplifier")]
    if len({one.opening_id for one in some}) == len(some):
        return []
    first, second = some
    vehicle, spot = question.job.vehicle_id, str(first.opening_id)
    ways = list(product((True, False), (False, True), (False, True)))
    columns = pair_columns(catalog, vehicle, spot, (str(first.part_id), str(second.part_id)), ways)
    checked = zip(ways, catalog.explain(rules_of(PAIR), columns, len(ways)), strict=True)
    (by_width, *turned), checks = max(checked, key=lambda way: _merit(way[1]))
    at = [f"opening:{vehicle}/{spot}", f"part:{first.part_id}", f"part:{second.part_id}"]
    kept_at = {
        f"pair.{subject}{which}_mm": f"{at[place]}.{'w_mm' if lies != (which == 'across') else 'd_mm'}"
        for place, (subject, lies) in enumerate(
            (("", by_width), ("first_", by_width != turned[0]), ("second_", by_width != turned[1]))
        )
        for which in WHICH
    }
    return [
        replace(
            check,
            about=f"{spot}: {first.part_id}{BESIDE}{second.part_id}",
            missing=[kept_at[name] for name in check.missing],
            loose=[kept_at[name] for name in check.loose],
        )
        for check in checks
    ]


def _merit(checks: Sequence[Check]) -> tuple[int, bool, Decimal, bool, Decimal]:
    """Sort key of an arrangement: verdict, then the deciding value of a single missing figure, then clearance."""
    (beside,) = (check.margin for check in checks if check.rule == ALONG.name)
    deciding = [value for check in checks if (value := _deciding(check)) is not None]
    alone = bool(deciding) and all(check.verdict == "fits" for check in checks if _deciding(check) is None)
    far = min(deciding) if alone else Decimal(0)
    verdict = VERDICT_ORDER[worst([check.verdict for check in checks])]
    return verdict, alone, far, beside is not None, beside or Decimal(0)


def _deciding(check: Check) -> Decimal | None:
    """Return the deciding value of a missing figure, larger if it leaves more freedom; None if nothing is missing."""
    return check.fits_up_to if check.fits_from is None else -check.fits_from


def pair_columns(
    catalog: Catalog, vehicle_id: str, spot: str, part_ids: tuple[str, str], ways: Sequence[tuple[bool, bool, bool]]
) -> Columns:
    """Return the arrangements of two amplifiers on a spot, one per row.

    Parameters
    ----------
    ways
        Whether they are side by side along the width, and whether the first and the second are turned.
    """
    by_width, *turned = np.array(ways, np.bool_).T
    things = [("", "opening", catalog.vehicle(vehicle_id).opening("amp_spot", spot), by_width)]
    for name, part_id, is_turned in zip(("first_", "second_"), part_ids, turned, strict=True):
        things.append((name, "part", catalog.part("amplifier", part_id), by_width != is_turned))
    return Columns(
        {
            f"pair.{name}{which}_mm": _laid(columns, subject, lies if which == "along" else ~lies)
            for name, subject, columns, lies in things
            for which in WHICH
        }
    )


def _laid(columns: Columns, subject: str, lies: np.ndarray) -> Column:
    """Return a thing's width in rows where it has this orientation, otherwise its depth."""
    return chosen(lies, columns[f"{subject}.w_mm"], columns[f"{subject}.d_mm"])
