"""The computations' answers as data: what was asked, what is known, what is not and why, with sources."""

from matcher.calculators.answer import Calculation, Unknown, unit_for

__all__ = ["Calculation", "Unknown", "unit_for"]
