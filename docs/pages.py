"""The pages of rules, settings and sources, as Markdown."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from markdown_text import amount, code, plain, source_text, table

from catalog_schema.sources import Source
from catalog_schema.units import GAUGE, INCH_POUND
from matcher.answers.rulebook import rulebook
from matcher.formulas.register import all_formulas
from matcher.rules.rule import every_rule, rule_named
from matcher.settings import DEFAULTS, WORD_DEFAULTS


def rules_page() -> str:
    """A section for each rule, by the question in which it is asked."""
    parts = [
        "# Rules\n",
        "Every rule compares what there is with what is needed, in one unit. The margin is the first less the "
        "second; the verdict is *fits* where the margin covers the tolerances of the figures in it, *no* where it "
        "misses by more, else *measure*. A figure that is not known gives *measure* and is named.\n",
        "A rule that is *lifted at* a step of the alteration ladder need not hold from that step on. `setting.…` is "
        "one of the [settings](settings.md). `boltback rules RULE` shows the same.\n",
    ]
    for question, entries in groupby(sorted(rulebook(), key=lambda entry: entry["question"]), key=_question):
        parts.append(f"## Asked of: {question}\n")
        parts += [_rule_section(entry) for entry in entries]
    return "\n".join(parts)


def _question(entry: dict[str, Any]) -> str:
    question: str = entry["question"]
    return question


def _rule_section(entry: dict[str, Any]) -> str:
    defaults = ", ".join(f"{code(name)} = {amount(DEFAULTS[name])}" for name in entry["defaults"])
    lines = {
        "compares": plain(entry["compares"]),
        "have": code(entry["have"]),
        "need": code(entry["need"]),
        "unit": entry["unit"],
        "applies when": code(entry["applies_when"]),
        "lifted at": code(entry["lifted_at"]),
        "defaults": defaults,
        "flaw": plain(entry["flaw"]),
        "fix": plain(entry["fix"]),
        "source": source_text(rule_named(entry["rule"]).source),
    }
    told = "\n".join(f"- **{name}**: {text}" for name, text in lines.items() if text)
    return f"### `{entry['rule']}`\n\n{told}\n"


def settings_page() -> str:
    """Every setting of the shop."""
    rows = [
        [code(each.name), amount(each), plain(each.meaning), source_text(each.source)] for each in DEFAULTS.values()
    ]
    rows += [
        [code(each.name), each.value or "-", plain(each.meaning), source_text(each.source)]
        for each in WORD_DEFAULTS.values()
    ]
    return "\n".join(
        [
            "# Settings\n",
            "The shop's defaults. `boltback settings` lists them with the values of your store, "
            "`boltback settings NAME VALUE` gives one a value of your own.\n",
            table(["setting", "default", "meaning", "source"], rows),
        ]
    )


def sources_page() -> str:
    """Every rule and every formula with where it comes from."""
    rules = [[code(rule.name), plain(rule.compares), source_text(rule.source)] for rule in every_rule()]
    formulas = [
        [
            code(f"{each.module.rpartition('.')[2]}.{each.name}"),
            plain(each.says),
            plain(each.valid),
            source_text(each.source),
        ]
        for each in all_formulas()
    ]
    units = [["inches and pounds", source_text(INCH_POUND)], ["conductor gauges", source_text(GAUGE)]]
    return "\n".join(
        [
            "# Sources\n",
            "Where each rule and each formula comes from. *Common practice, no published source* is what the trade "
            "does; *from memory* is a source that was named but not seen: look it up before you rely on it. "
            "Outside its range a formula answers *unknown*, never a number.\n",
            _counted("Rules", [rule.source for rule in every_rule()]),
            table(["rule", "compares", "source"], rules),
            _counted("Formulas", [each.source for each in all_formulas()]),
            table(["formula", "answers", "holds for", "source"], formulas),
            "## Units\n",
            table(["conversion", "source"], units),
        ]
    )


def _counted(title: str, sources: list[Source]) -> str:
    standings = [source.standing for source in sources]
    counts = ", ".join(f"{standings.count(standing)} {standing}" for standing in dict.fromkeys(sorted(standings)))
    return f"## {title}\n\n{len(sources)} in all: {counts}.\n"
