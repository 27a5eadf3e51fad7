"""Answers of the computations as data: inputs, known figures, unknown ones with reasons, and sources."""

from matcher.calculators.answer import Calculation, Unknown, unit_for

__all__ = ["Calculation", "Unknown", "unit_for"]
