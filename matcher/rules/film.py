"""Film on a pane of glass: what light still comes through, against the limit that the user entered."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.rules.rule import rule
from matcher.rules.subjects import film, pane
from matcher.rules.terms import Figure, Term, join_lists
from matcher.settings import Settings

FILM = "film on a pane"


class Through(Term):
    """Light that comes through two layers, one after the other, in percent."""

    first: Term
    second: Term

    def __str__(self) -> str:
        return f"{self.first} x {self.second} / 100"

    def value(self, settings: Settings) -> str:
        return f"({self.first.value(settings)} * {self.second.value(settings)} * 0.01)::DECIMAL(15,6)"

    def tol(self, settings: Settings) -> str:
        """Worst case: each layer's tolerance as the other lets it through."""
        one, other = self.first.value(settings), self.second.value(settings)
        one_tol, other_tol = self.first.tol(settings), self.second.tol(settings)
        grown = f"({one} * {other_tol} + {other} * {one_tol} + {one_tol} * {other_tol})"
        return f"({grown} * 0.01)::DECIMAL(15,6)"

    def missing(self) -> str:
        return join_lists(self.first.missing(), self.second.missing())

    def figures(self) -> tuple[Figure, ...]:
        return self.first.figures() + self.second.figures()


NET_VLT = rule(
    "film.net_vlt",
    scope=FILM,
    unit="%",
    have=Through(pane.vlt_pct, film.vlt_pct),
    need=pane.limit_pct,
    compares="light that comes through glass and film together against the least that was entered for the pane",
    flaw="glass and film together are darker than the limit entered for this pane",
    cure="a film that lets more light through, or this pane left as it is",
    source=published("product of the two transmittances; film counts as part of the window: NHTSA 1984, SI 2003/3145"),
)
