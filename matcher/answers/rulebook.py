"""The declared rules and settings, for the command line, the page and the docs."""

from __future__ import annotations

from typing import Any

from catalog_schema.answers import plain_number
from matcher.errors import NotKnown
from matcher.rules.rule import Rule, every_rule
from matcher.rules.terms import SettingTerm, parts_of
from matcher.settings import DEFAULT_SETTINGS, DEFAULTS, WORD_DEFAULTS, Setting, Settings, WordSetting


def rulebook() -> list[dict[str, Any]]:
    """Return every rule in the form of `rule_page`."""
    return [_page(rule) for rule in every_rule()]


def rule_page(name: str) -> dict[str, Any]:
    """Return the full description of a rule.

    Raises
    ------
    NotKnown
        if no rule has this name.
    """
    named = {rule.name: rule for rule in every_rule()}
    if name not in named:
        raise NotKnown("rule", name, list(named), fix="`boltback rules` lists them")
    return _page(named[name])


def _page(rule: Rule) -> dict[str, Any]:
    used = {part.name for term in (rule.have, rule.need) for part in parts_of(term) if isinstance(part, SettingTerm)}
    return {
        "rule": rule.name,
        "question": rule.scope,
        "compares": rule.compares,
        "unit": rule.unit,
        "have": str(rule.have),
        "need": str(rule.need),
        "applies_when": "" if rule.when is None else str(rule.when),
        "lifted_at": rule.lifted_at or "",
        "defaults": {
            name: plain_number(setting.value)
            for name, setting in DEFAULTS.items()
            if name.partition(".")[0] in used or name in used
        },
        "flaw": rule.flaw,
        "fix": rule.fix,
        "source": str(rule.source),
    }


def setting_entries(settings: Settings | None, name: str | None = None) -> list[dict[str, Any]]:
    """Return every setting, or the named one, with its value in this shop, unit, meaning and source."""
    known = [*DEFAULTS, *WORD_DEFAULTS]
    if name is not None and name not in known:
        raise NotKnown("setting", name, known, fix="`boltback settings` lists them")
    held = settings or DEFAULT_SETTINGS
    numbers = [
        _entry(one, plain_number(held[one.name]), plain_number(one.value), one.unit) for one in DEFAULTS.values()
    ]
    words = [
        _entry(one, held.word(one.name), one.value, " or ".join(one.choices) or "text")
        for one in WORD_DEFAULTS.values()
    ]
    return [entry for entry in (*numbers, *words) if name in (None, entry["name"])]


def _entry(one: Setting | WordSetting, value: float | str, default: float | str, unit: str) -> dict[str, Any]:
    return {
        "name": one.name,
        "value": value,
        "default": default,
        "unit": unit,
        "meaning": one.meaning,
        "source": str(one.source),
    }
