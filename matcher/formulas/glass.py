"""Film on glass: light transmission of both, against the limit entered by the user."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.known import within
from matcher.formulas.register import formula

_PRODUCT = published("product of the two transmittances; film counts as part of the window: NHTSA 1984, SI 2003/3145")
_PERCENT = "transmittances from 0 to 100 %; reflections between film and glass left out"


@formula(source=_PRODUCT, valid=_PERCENT)
def net_vlt_pct(glass_pct: float | None, film_pct: float | None) -> float | None:
    """Light transmission of glass and film together.

    Parameters
    ----------
    glass_pct, film_pct
        Visible light transmittance of each, %.

    Returns
    -------
    Transmittance in %.

    Examples
    --------
    >>> net_vlt_pct(78, 90)
    70.2
    """
    glass, film = within(glass_pct, 0, 100), within(film_pct, 0, 100)
    return None if glass is None or film is None else glass * film / 100


@dataclass(frozen=True, slots=True)
class FilmVerdict:
    """Net transmittance against the limit entered; unknown without one, never "legal" by itself."""

    net_pct: float | None
    limit_pct: float | None
    margin_pct: float | None
    verdict: Literal["fits", "no", "unknown"]


@formula(source=_PRODUCT, valid=_PERCENT + "; the limit is local law and the user's own entry")
def film_verdict(glass_pct: float | None, film_pct: float | None, limit_pct: float | None) -> FilmVerdict:
    """Whether a pane with film meets the limit entered by the user.

    Parameters
    ----------
    glass_pct, film_pct
        Visible light transmittance of each, %.
    limit_pct
        Minimum allowed for this pane, %.

    Returns
    -------
    Net transmittance, margin and verdict.

    Examples
    --------
    >>> film_verdict(78, 90, 70).verdict, film_verdict(78, 90, None).verdict
    ('fits', 'unknown')
    """
    net, limit = net_vlt_pct(glass_pct, film_pct), within(limit_pct, 0, 100)
    if net is None or limit is None:
        return FilmVerdict(net, limit, None, "unknown")
    # Rounding of floats must not make 78 x 90 / 100 fail.
    margin = round(net - limit, 9)
    return FilmVerdict(net, limit, margin, "fits" if margin >= 0 else "no")


@formula(source=_PRODUCT, valid=_PERCENT + "; None where even clear glass would not do")
def glass_needed_pct(film_pct: float | None, limit_pct: float | None) -> float | None:
    """Transmittance that the glass must have for this film to keep the limit.

    Examples
    --------
    >>> glass_needed_pct(78, 70)
    89.7
    """
    film, limit = within(film_pct, 1e-6, 100), within(limit_pct, 0, 100)
    if film is None or limit is None or round(limit - film, 9) > 0:
        return None
    return min(100.0, 100 * limit / film)


@formula(source=_PRODUCT, valid=_PERCENT + "; None where no film would do")
def film_needed_pct(glass_pct: float | None, limit_pct: float | None) -> float | None:
    """Transmittance that the film must have for this glass to keep the limit.

    Examples
    --------
    >>> film_needed_pct(78, 70)
    89.7
    """
    return glass_needed_pct(glass_pct, limit_pct)
