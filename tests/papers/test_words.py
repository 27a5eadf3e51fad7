"""The words of papers: every language says the same things about the same facts."""

from __future__ import annotations

import ast
import string
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from catalog_schema.columns import columns_of
from catalog_schema.figure_labels import field_label
from catalog_schema.ladder import LADDER_MEANING
from catalog_schema.parts import FAMILIES
from catalog_schema.units import UNITS
from catalog_schema.vehicles import OPENINGS, Cut, Electrical, KeepClear, Pane, Runs
from matcher.answers import feeding, messages, messages_bass, messages_beside, undo
from matcher.answers.sentences import Amount, Sentence
from matcher.formulas.fuse import BLADE_COLOR, LARGE_BLADE_COLOR
from matcher.jobs import messages as messages_of_jobs
from matcher.jobs.choices import NO_FIGURES
from matcher.papers.words import Words
from matcher.rules.cargo import CARGO
from matcher.rules.dash import DASH
from matcher.rules.rule import every_rule, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.settings import WORD_DEFAULTS
from matcher.words import LOCALE, PAGE, PAPERS, languages
from tests.catalogs import forms_of

HOUSE = Path(messages.__file__).parents[1]
TELLING = ("answers", "jobs", "calculators")
"""The rooms that make sentences."""
OTHERS = [language for language in languages() if language != "en"]


def facts_in(text: str) -> set[str]:
    """The names in braces."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def templates() -> set[str]:
    """Every sentence told elsewhere that a paper may show."""
    calls = [
        node.args[0].value
        for room in TELLING
        for path in (HOUSE / room).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == Sentence.__name__ and node.args
        if isinstance(node.args[0], ast.Constant)
    ]
    steps = [
        text
        for table in (undo.PLAIN, undo.AT_OPENING, undo.ORIGINAL, undo.ALTERED)
        for texts in table.values()
        for text in texts
    ]
    bass = [messages_bass.LIFT, messages_bass.LEVEL, messages_bass.UNPRICED, messages_bass.MADE]
    bass += [messages_bass.HELD, messages_bass.NO_CARGO]
    assert calls
    return {
        *calls,
        *(text for text in steps if text),
        *(undo.ADAPTER, undo.ADAPTER_OUT),
        *feeding.HOW.values(),
        *messages.ALWAYS,
        *messages_of_jobs.SETUP_CAUTIONS,
        *bass,
        *messages_beside.ROUTE_WORDS.values(),
        *(text for name, text in vars(messages_beside).items() if name.isupper() and isinstance(text, str)),
        *LADDER_MEANING.values(),
    }


def labels() -> set[str]:
    """Everything of a part or a vehicle that can be wanted or read, as it is called."""
    models = [*FAMILIES.values(), *OPENINGS.values(), Cut, Electrical, KeepClear, Pane, Runs]
    found = [(model.__name__, column.name) for model in models for column in columns_of(model)]
    return {field_label(name, (model, "Part")) for model, name in found if name not in NO_FIGURES}


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_is_translated_with_the_same_facts(language: str) -> None:
    english, other = forms_of("en"), forms_of(language)
    told = templates() | labels()
    assert len(told) > 250
    assert sorted({*english, *told} - set(other)) == []
    facts = {key: set().union(*map(facts_in, english.get(key, (key,)))) for key in other}
    assert [key for key, forms in other.items() if set().union(*map(facts_in, forms)) != facts[key]] == []


@pytest.mark.parametrize("source", sorted(LOCALE.rglob("*.po")), ids=lambda path: f"{path.parts[-3]}-{path.stem}")
def test_a_catalog_has_a_header_and_is_read_without_warnings(source: Path) -> None:
    with source.open("rb") as file:
        catalog = read_po(file, abort_invalid=True)
    assert str(catalog.locale) == source.parts[-3], "the header names the language"
    assert [(message.id, errors) for message, errors in catalog.check()] == []


@pytest.mark.parametrize("domain", [PAPERS, PAGE])
def test_a_message_with_a_count_has_plural_forms(domain: str) -> None:
    assert [key for key, forms in forms_of("en", domain).items() if "{count}" in forms[-1] and len(forms) < 2] == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_rule_is_told_in_every_language(language: str) -> None:
    said = forms_of(language)
    declared = {rule.name: {rule.compares, rule.flaw, rule.fix} - {""} for rule in every_rule()}
    assert {name: told - set(said) for name, told in declared.items() if told - set(said)} == {}


def test_every_unit_of_a_miss_is_a_sign_or_has_a_word() -> None:
    signs = {unit.symbol for unit in UNITS.values()} | {"mm2"}
    words = {rule.unit for scope in (DASH, SPEAKER, CARGO) for rule in rules_of(scope)} - signs
    assert words == {"bolts", "coils"}
    assert [unit for unit in sorted(words) if f"unit.{unit}" not in Words()] == []


def test_every_language_of_the_settings_has_its_words() -> None:
    assert sorted(WORD_DEFAULTS["language"].choices) == languages()


def test_every_color_of_a_fuse_has_a_word() -> None:
    words = Words()
    assert [color for color in (BLADE_COLOR | LARGE_BLADE_COLOR).values() if f"color.{color}" not in words] == []


def test_a_sentence_is_said_again_with_its_facts() -> None:
    told = Sentence("never fasten anything at {zone}: {why}", zone="sill {x}", why="fuel")
    assert Words("en").again(told) == str(told)
    assert Words("de").again(told) == "nichts befestigen: sill {x} (fuel)"


def test_a_fact_is_told_in_the_language_too() -> None:
    told = Sentence(messages_beside.OPEN_ROUTES, layers=["lock"], routes=["broken glass", "towing or lifting"])
    assert Words("de").again(told) == "nicht abgedeckt mit lock: eingeschlagenes Glas, Abschleppen oder Anheben"
    amount = Sentence("supply cable {part}", part=Amount("0.5", "mm"))  # type: ignore[arg-type]
    assert Words("de").again(amount, lambda _, fact: fact.replace(".", ",")) == "Stromkabel 0,5 mm"


def test_what_nobody_has_translated_stays_as_it_is() -> None:
    assert Words("de").again("a sentence of tomorrow") == "a sentence of tomorrow"
    assert Words("de").again(Sentence("a {thing} of tomorrow", thing="part")) == "a part of tomorrow"


def test_an_unknown_key_and_a_missing_fact_are_bugs() -> None:
    with pytest.raises(KeyError):
        Words()("no.such.key")
    with pytest.raises(KeyError):
        Words()("word.tax", other="1")
