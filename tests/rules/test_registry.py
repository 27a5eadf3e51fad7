"""The register of rules: each complete, each speaking of figures that exist, each with a table of its own."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import matcher
import matcher.rules
from catalog_schema.columns import columns_of, family_columns
from catalog_schema.parts import FAMILIES
from catalog_schema.sources import Source
from catalog_schema.vehicles import OPENINGS, Electrical, KeepClear, Pane, Runs
from matcher.rules.rule import Rule, every_rule, rule
from matcher.rules.terms import FigureTerm, SettingTerm, parts_of
from matcher.settings import DEFAULT_SETTINGS, DEFAULTS
from matcher.store.database.tables import opening_columns
from tests.factories import Bench

RULES = every_rule()
NAMES = [each.name for each in RULES]

OPENING = {column.name for kind in OPENINGS for column in opening_columns(kind)}
PART = {column.name for family in FAMILIES for column in family_columns(family)}
STORED = {
    "part": PART,
    "opening": OPENING,
    "adapter": {column.name for column in family_columns("adapter")},
    "vehicle": {column.name for column in (*columns_of(Electrical), *columns_of(Runs))},
    "keep": {column.name for column in columns_of(KeepClear)},
    "pane": {column.name for column in columns_of(Pane)},
    "film": {column.name for column in family_columns("film")},
    "cable": {column.name for column in family_columns("cable")},
}
"""Subjects that are rows of the store, with their columns; the others are made by the search."""


def figures_of(each: Rule) -> set[FigureTerm]:
    when = () if each.when is None else each.when.figures()
    return {*each.have.figures(), *each.need.figures(), *when}


def settings_of(each: Rule) -> set[SettingTerm]:
    terms = [*parts_of(each.have), *parts_of(each.need)]
    return {term for term in terms if isinstance(term, SettingTerm)}


@pytest.mark.parametrize("each", RULES, ids=NAMES)
def test_a_rule_is_complete(each: Rule) -> None:
    assert re.fullmatch(r"[a-z]+(_[a-z]+)*\.[a-z]+(_[a-z]+)*", each.name)
    assert isinstance(each.source, Source) and str(each.source)
    for text in (each.compares, each.flaw, each.fix):
        assert text.strip() == text and not text.endswith(".")
    assert each.compares and each.flaw
    assert each.lifted_at in (None, "drilled")
    assert str(each.have) and str(each.need)


def test_names_are_used_once() -> None:
    assert len(NAMES) == len(set(NAMES))


def test_a_name_cannot_be_declared_again() -> None:
    first = RULES[0]
    with pytest.raises(ValueError, match="declared twice"):
        rule(first.name, scope="", unit="", have=1, need=1, compares="", flaw="")


@pytest.mark.parametrize("each", RULES, ids=NAMES)
def test_its_figures_exist(each: Rule) -> None:
    unknown = [
        str(figure)
        for figure in figures_of(each)
        if figure.subject in STORED and figure.field not in STORED[figure.subject]
    ]
    assert not unknown


@pytest.mark.parametrize("each", RULES, ids=NAMES)
def test_its_settings_exist(each: Rule) -> None:
    for term in settings_of(each):
        words = dict(DEFAULT_SETTINGS.by_word(term.name))
        assert words if term.by is not None else term.name in DEFAULTS
        assert term.otherwise is None or term.otherwise in words


def test_every_setting_is_used() -> None:
    package = Path(str(matcher.__file__)).parent
    text = "\n".join(path.read_text(encoding="utf-8") for path in package.rglob("*.py") if path.name != "settings.py")
    stems = {name.partition(".")[0] for name in DEFAULTS}
    assert not [stem for stem in sorted(stems) if not re.search(rf"[\"'{{]{stem}\b", text)]


def test_every_rule_has_a_table() -> None:
    """The tables stand in files of tests, which name the rules they hold in ``RULES``."""
    tabled: list[str] = []
    for path in sorted(Path(__file__).parents[1].rglob("test_*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            named = isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name)
            if named and node.targets[0].id == "RULES" and isinstance(node.value, ast.Tuple):
                names = ast.literal_eval(node.value)
                assert all(path.read_text(encoding="utf-8").count(f'"{name}"') > 1 for name in names), path.name
                tabled += names
    assert sorted(tabled) == sorted(NAMES)


@pytest.mark.parametrize("scope", sorted({each.scope for each in RULES}))
def test_whoever_can_name_a_question_has_its_rules_declared(scope: str) -> None:
    """The question's name stands in the module of its rules, so that a command loads only what it asks."""
    folder = Path(str(matcher.rules.__file__)).parent
    texts = [path.read_text(encoding="utf-8") for path in folder.glob("*.py")]
    (home,) = [text for text in texts if re.search(rf'^[A-Z_]+ = "{scope}"$', text, re.MULTILINE)]
    assert [each.name for each in RULES if each.scope == scope and f'"{each.name}"' not in home] == []


def test_settings_of_the_shop_s_own_reach_the_rules(bench: Bench) -> None:
    from tests.factories import check_of, speaker, speaker_opening

    bench.set("clearance_behind_mm.fixed", 8)
    bench.set("tolerance_mm.maker", 0.25)
    bench.set("tolerance_mm.measured", 2)
    try:
        whole = check_of(bench.ask(speaker(), speaker_opening()), "speaker.depth")
        single = speaker_opening(basis="maker", depth_mm={"value": 70, "basis": "measured"})
        own = check_of(bench.ask(speaker(), single), "speaker.depth")
    finally:
        bench.con.execute("delete from setting")
    assert (whole.need, float(whole.tol)) == (68, 2.25)
    assert float(own.tol) == 2.25, "also where a figure of the vehicle names a basis of its own"
