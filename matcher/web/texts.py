"""Texts of the page, in English."""

from __future__ import annotations

from matcher.words import ENGLISH, PAGE, Messages

TEXTS = Messages(ENGLISH, PAGE)
