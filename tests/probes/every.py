"""Every probe. A subject has a module with its PROBES: add the module here, and the table in docs/probes.md follows."""

from __future__ import annotations

from tests.probes import bass, claims, kept, kit, loudspeakers, supply, wishes
from tests.probes.probe import Probe

SUBJECTS: dict[str, list[Probe]] = {
    "Loudspeakers": loudspeakers.PROBES,
    "Bass": bass.PROBES,
    "Claims": claims.PROBES,
    "Kit and holes": kit.PROBES,
    "Filters and supply": supply.PROBES,
    "Factory equipment": kept.PROBES,
    "Wishes": wishes.PROBES,
}
"""The probes of each heading of the table."""
