"""Film on glass: the light transmission of each pane against the user's own limit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from catalog_schema.answers import Answer
from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, table
from matcher.formulas import glass


@dataclass(frozen=True, slots=True, kw_only=True)
class PaneInputs(Answer):
    """A pane: its own transmittance, the user's limit for it, whether its edge is exposed."""

    pane: str
    glass_pct: float | None = None
    limit_pct: float | None = None
    frameless: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmInputs(Answer):
    """A film and the panes it goes on."""

    film_pct: float | None = None
    panes: list[PaneInputs] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class PaneAnswer(Answer):
    """One pane with the film on it."""

    pane: str = result("pane")
    net_pct: float | None = result("net")
    limit_pct: float | None = result("limit")
    margin_pct: float | None = result("margin")
    verdict: Literal["fits", "no", "unknown"] = result("verdict")
    lightest_needed_pct: float | None = result("film needed, or lighter")
    frameless: bool = result("frameless")


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmCalculation(Calculation):
    """Net transmittance and verdict of every pane."""

    given: FilmInputs
    film_pct: float | None = result("film", glass.net_vlt_pct, wants="film_pct")
    panes: list[PaneAnswer] = field(
        default_factory=list, metadata=table("panes", glass.film_verdict, glass.film_needed_pct)
    )


def film_for(inputs: FilmInputs) -> FilmCalculation:
    """Compute the visible light transmission of each pane with a film; without a limit the verdict is unknown."""
    open_edge = [cautions.FRAMELESS] if any(pane.frameless for pane in inputs.panes) else []
    dark = [pane.pane for pane in inputs.panes if pane.limit_pct is None]
    return FilmCalculation(
        given=inputs,
        film_pct=inputs.film_pct,
        panes=[_pane(inputs.film_pct, pane) for pane in inputs.panes],
        notes=[f"no limit entered for {', '.join(dark)}: give the law's own with --limit or --pane"] if dark else [],
        cautions=[cautions.LOCAL_LAW, *open_edge],
    )


def _pane(film_pct: float | None, pane: PaneInputs) -> PaneAnswer:
    found = glass.film_verdict(pane.glass_pct, film_pct, pane.limit_pct)
    return PaneAnswer(
        pane=pane.pane,
        net_pct=found.net_pct,
        limit_pct=pane.limit_pct,
        margin_pct=found.margin_pct,
        verdict=found.verdict,
        lightest_needed_pct=glass.film_needed_pct(pane.glass_pct, pane.limit_pct),
        frameless=pane.frameless,
    )
