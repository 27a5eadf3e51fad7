"""The labels of drawings: each is drawn, lengths are written as a language does, and every margin has a label."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from matcher.drawings import words as words_module
from matcher.drawings.words import DrawingWords
from matcher.errors import InputError
from matcher.rules.rule import every_rule
from tests.catalogs import forms_of

DRAWN = {key.removeprefix("drawn.") for key in forms_of("en") if key.startswith("drawn.")}


def test_every_word_is_drawn_somewhere() -> None:
    folder = Path(words_module.__file__).parent
    source = "".join(path.read_text("utf-8") for path in folder.glob("*.py"))
    said = set(re.findall(r"""["'](\w+)["']""", source))
    made_up = tuple(re.findall(r"""f["'](\w+_){""", source))
    assert {name for name in DRAWN if name not in said and not name.startswith(made_up)} == set()


@pytest.mark.parametrize(
    ("words", "value", "written"),
    [
        (DrawingWords(), 76, "76"),
        (DrawingWords(), 92.5, "92.5"),
        (DrawingWords("de"), 92.5, "92,5"),
        (DrawingWords(), -0.001, "0"),
        (DrawingWords(), None, "? measure"),
        (DrawingWords("de"), None, "? messen"),
    ],
)
def test_a_length_is_written_as_its_language_does(words: DrawingWords, value: float | None, written: str) -> None:
    assert words.mm(value) == written


def test_what_is_filled_in_is_never_filled_again() -> None:
    assert DrawingWords()("with_part", part="{part} {0} %s") == "With {part} {0} %s."


def test_a_language_without_words_is_refused() -> None:
    with pytest.raises(InputError, match="no words for the language 'fr'"):
        DrawingWords("fr")


def test_every_rule_that_has_a_margin_has_a_label() -> None:
    unnamed = {rule.name for rule in every_rule() if rule.unit and f"rule_{rule.name}" not in DrawingWords()}
    assert unnamed == set()
    assert {name for name in DRAWN if name.startswith("rule_")} <= {f"rule_{one.name}" for one in every_rule()}


def test_what_an_answer_says_is_said_again_in_the_language() -> None:
    words = DrawingWords("de", again={"2 channels, bridged": "2 Kanäle, gebrückt"}.get)  # type: ignore[arg-type]
    assert words.again("2 channels, bridged") == "2 Kanäle, gebrückt"
    assert DrawingWords().again("as it stands") == "as it stands"
