"""Every text of the page, which is English alone so far."""

from __future__ import annotations

from matcher.words import ENGLISH, PAGE, Messages

TEXTS = Messages(ENGLISH, PAGE)
