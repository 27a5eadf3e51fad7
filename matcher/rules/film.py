"""Film on a pane of glass: the light that both transmit, against the limit that the user entered."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.rules.rule import rule
from matcher.rules.subjects import film, pane
from matcher.rules.worked import Through

FILM = "film on a pane"

NET_VLT = rule(
    "film.net_vlt",
    scope=FILM,
    unit="%",
    have=Through((pane.vlt_pct, film.vlt_pct)),
    need=pane.limit_pct,
    compares="light transmission of glass and film together against the least entered for the pane",
    flaw="glass and film together are darker than the limit entered for this pane",
    fix="a film that lets more light through, or this pane left as it is",
    source=published("product of the two transmittances; film counts as part of the window: NHTSA 1984, SI 2003/3145"),
)
