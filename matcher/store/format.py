"""The format of a store; one more with every change of its tables."""

from __future__ import annotations

FORMAT = 1
"""What this program reads and writes."""
