"""Properties are judged by what they answer, not by how fast a busy machine runs them."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("formulas", deadline=None)
settings.load_profile("formulas")
