"""Two amplifiers of a package on one spot: their rules asked again, of the best way to stand them there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import VERDICT_ORDER, Check, worst
from matcher.explain.wording import BESIDE
from matcher.rules.amp_pair import ALONG, PAIR
from matcher.rules.rule import rules_of
from matcher.search.fits.relations import part_sql, tol_of, with_basis_tol
from matcher.search.fits.statement import Asked
from matcher.search.fits.sweep import Sweeps
from matcher.search.packages import Fitted
from matcher.search.question import JobQuestion

WHICH = ("along", "across")


def pair_checks(sweeps: Sweeps, question: JobQuestion, fitted: Sequence[Fitted]) -> list[Check]:
    """The rules of two amplifiers that share a spot; none where they do not."""
    some = [one.candidate for one in fitted if one.candidate.slot in ("amplifier", "bass_amplifier")]
    if len({one.opening_id for one in some}) == len(some):
        return []
    first, second = some
    vehicle, spot = question.job.vehicle_id, str(first.opening_id)
    opening, part = (
        with_basis_tol("opening_amp_spot", "measured", sweeps.settings),
        part_sql("amplifier", sweeps.settings),
    )
    ctes = (
        f"WITH spot AS (SELECT * FROM ({opening}) WHERE vehicle_id = ? AND opening_id = ?), part AS ({part}), "
        "one AS (SELECT * FROM part WHERE part_id = ?), other AS (SELECT * FROM part WHERE part_id = ?), "
        f"pair AS ({pair_sql()})"
    )
    asked = Asked(ctes, "pair", ("pair.by_width", "pair.first_turned", "pair.second_turned"), tuple(rules_of(PAIR)))
    rows = sweeps.checks(asked, [vehicle, spot, first.part_id, second.part_id])
    (by_width, *turned), checks = max(rows, key=lambda row: _merit(row[1]))
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
    """The verdict of a way to stand them; how far a figure that is missing may go in it, if that alone decides; then
    what is to spare beside each other, where that is known.
    """
    (beside,) = (check.margin for check in checks if check.rule == ALONG.name)
    deciding = [value for check in checks if (value := _deciding(check)) is not None]
    alone = bool(deciding) and all(check.verdict == "fits" for check in checks if _deciding(check) is None)
    far = min(deciding) if alone else Decimal(0)
    verdict = VERDICT_ORDER[worst([check.verdict for check in checks])]
    return verdict, alone, far, beside is not None, beside or Decimal(0)


def _deciding(check: Check) -> Decimal | None:
    """The value that decides about a figure, the greater the more it leaves free; none where none is missing."""
    return check.fits_up_to if check.fits_from is None else -check.fits_from


def pair_sql() -> str:
    """SQL of every way to stand the amplifiers ``one`` and ``other`` on the spot ``spot``."""
    laid = ", ".join(
        [
            *(_laid("spot", which, "", "by_width") for which in WHICH),
            *(_laid("one", which, "first_", "by_width != first_turned") for which in WHICH),
            *(_laid("other", which, "second_", "by_width != second_turned") for which in WHICH),
        ]
    )
    ways = ", ".join(
        f"(VALUES (true), (false)) {name}({name})" for name in ("by_width", "first_turned", "second_turned")
    )
    # As they come and along the width first.
    order = "by_width DESC, first_turned, second_turned"
    return f"SELECT by_width, first_turned, second_turned, {laid} FROM spot, one, other, {ways} ORDER BY {order}"


def _laid(thing: str, which: str, name: str, by_width: str) -> str:
    """SQL of a thing's measure along or across, with its tolerance."""
    lies = f"({by_width})" if which == "along" else f"(NOT ({by_width}))"
    sides = [
        f"CASE WHEN {lies} THEN {wide} ELSE {deep} END"
        for wide, deep in ((f"{thing}.w_mm", f"{thing}.d_mm"), (tol_of(thing, "w_mm"), tol_of(thing, "d_mm")))
    ]
    return f"{sides[0]} AS {name}{which}_mm, {sides[1]} AS {name}{which}_mm_tol"
