"""What papers are made from: the answers on one job, gathered once for all of its papers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from catalog_schema.answers import Options, Package
from matcher.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Dossier:
    """One job with one of its packages, and everything that was answered about both."""

    job: Mapping[str, Any]
    """The job's document."""
    vehicle: Mapping[str, Any]
    """The vehicle's document, readings laid over."""
    options: Options
    """The ranked packages and tiers."""
    package: Package | None
    """The package that a paper is about; none where no package meets every limit."""
    parts: Mapping[str, Mapping[str, Any]]
    """Every part that is named, by its number: its known figures."""
    settings: Settings
    on: date
    """The day that stands on the paper."""

    def opening(self, opening_id: str) -> Mapping[str, Any]:
        """An opening's figures; nothing of one that the vehicle does not have."""
        return next((one for one in self.vehicle["openings"] if one["opening_id"] == opening_id), {})
