"""What answers say in English stands in German on a German paper: sentences with their figures, kept ones too."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from catalog_schema.answers import Check
from catalog_schema.choices import SetupCheck
from catalog_schema.whys import Why
from matcher.answers.messages import BESIDE, miss_says, supply_says
from matcher.answers.messages_bass import NO_CARGO, no_box_says
from matcher.answers.messages_beside import film_refused_says, uncovered_says
from matcher.answers.messages_why import change_of
from matcher.answers.package_notes import aluminum_says, notes_again, wait_says
from matcher.answers.sentences import Sentence
from matcher.jobs.messages import input_check
from matcher.papers.clearances import clearance_table
from matcher.papers.dossier import Dossier
from matcher.papers.model import Table
from matcher.papers.paper import KINDS, document
from matcher.papers.words import Words
from matcher.papers.writer import Writer
from matcher.rules.rule import rule_named
from matcher.search.fits.tally import Miss
from matcher.search.what_if.loosened import RelaxedLimit
from matcher.settings import Settings
from matcher.store.database.kept_documents import stored_job
from matcher.store.documents.saving import save_job
from tests.catalogs import forms_of
from tests.factories import Bench, plain
from tests.papers.conftest import told
from tests.papers.test_proposal import nothing
from tests.papers.test_sheets import read_setup
from tests.papers.town import the_job

D = Decimal


def german(dossier: Dossier) -> Dossier:
    """The same dossier of a shop that writes German."""
    settings = Settings(dossier.settings.own, {**dossier.settings.own_words, "language": "de"})
    return replace(dossier, settings=settings)


@pytest.fixture(scope="module")
def writer(dossier: Dossier) -> Writer:
    return Writer(german(dossier), Words("de"))


@pytest.fixture(scope="module")
def kept(bench: Bench) -> Dossier:
    """A package that was chosen, as the store gives it back, and its set-up."""
    save_job(bench.con, json.dumps(the_job(job_id="kept"), default=plain), "test")
    bench.choices.choose("kept", 1, by="Ida")
    return german(bench.papers.dossier("kept"))


@pytest.mark.parametrize("kind", KINDS)
def test_no_sentence_of_a_kept_choice_stays_english(kept: Dossier, kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    again = Words.again

    def noted(words: Words, sentence: str, *tell: Callable[[str, str], str]) -> str:
        asked.append(getattr(sentence, "template", sentence))
        return again(words, sentence, *tell)

    monkeypatch.setattr(Words, "again", noted)
    document(kept, kind)
    assert len(asked) > 1
    assert sorted({template for template in asked if " " in template} - set(forms_of("de"))) == []


REASONS = {
    miss_says(Miss(rule_named("speaker.depth"), 1, "deep-8", D("-4.5"))): (
        "1 Teil: Einbautiefe zu groß für den Raum hinter dem Blech"
    ),
    miss_says(Miss(rule_named("speaker.bolt_count"), 20, "six", D(-2))): (
        "20 Teile: die Zahl der Schraublöcher ist eine andere als die der vorhandenen"
    ),
    miss_says(Miss(rule_named("dash.mount"), 12345, "twin", D(-1))): (
        "12.345 Teile: die Öffnung ist für eine andere Art von Gerät gemacht"
    ),
    no_box_says(3): "3 Basslautsprecher: kein Gehäuse, das hineingeht, passt dazu, weder gekauft noch nach Maß gebaut",
    NO_CARGO: "das Fahrzeug hat keinen Laderaum, in den ein Gehäuse darf",
    film_refused_says(1, "dark-5", "rear", D("12.5")): "1 Folie: zu dunkel für jede Scheibe",
    uncovered_says(["tow", "glass"]): (
        "kein Diebstahlschutz des Katalogs deckt: Abschleppen oder Anheben, eingeschlagenes Glas"
    ),
}
"""Why nothing fills a slot, as a customer reads it: without the name of the rule and of the nearest part."""


@pytest.mark.parametrize(("reason", "said"), REASONS.items())
def test_why_nothing_fills_a_slot(dossier: Dossier, reason: str, said: str) -> None:
    slots = [replace(slot, fits=0, measure=0, reasons=[reason]) for slot in dossier.options.slots[:1]]
    empty = nothing(dossier)
    asked = german(replace(empty, options=replace(empty.options, slots=slots)))
    assert [line for line in told(document(asked, "proposal")).splitlines() if line.endswith(f": {said}")] != []


@pytest.mark.parametrize(
    ("rule", "why", "fix"),
    [
        ("supply.system_voltage", "Ihr Wagen läuft mit 12 V", "Ein Wandler von 12 V auf 12 V"),
        ("supply.ground", "In Ihrem Wagen liegt der Pluspol an der Karosserie", "Ein Wandler, der beide Seiten trennt"),
    ],
)
def test_a_supply_that_refuses_everything_is_told_with_what_would_help(
    dossier: Dossier, rule: str, why: str, fix: str
) -> None:
    slots = [replace(dossier.options.slots[0], fits=0, measure=0, reasons=[supply_says(rule_named(rule))])]
    empty = nothing(dossier)
    shown = told(document(german(replace(empty, options=replace(empty.options, slots=slots))), "proposal"))
    assert why in shown and fix in shown and rule not in shown


@pytest.fixture(scope="module")
def helped(bench: Bench) -> Why:
    """What would help a job whose limits nothing meets."""
    tight = the_job(job_id="tight", limits={"alteration": "bolt_in", "budget": 1200, "must": ["bluetooth"]})
    save_job(bench.con, json.dumps(tight, default=plain), "test")
    return bench.why("tight")


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("keep.door", "replaced", "– Vordertüren: ein neues Teil an Stelle des Originals"),
        ("keep.door", "left out", "– Vordertüren: das Original abgeklemmt"),
        ("keep.door", None, "– Vordertüren: Raum für ein neues Teil, wo das Original bleiben soll"),
        ("screen_min_in", D("6.5"), "– ein Bildschirm von 6,5 Zoll genügt"),
        ("at_rest_ma", D("20.5"), "– 20,5 mA in Ruhe erlauben"),
        ("budget", D("1850.5"), "– 1.850,50 EUR zahlen"),
    ],
)
def test_what_would_help(bench: Bench, dossier: Dossier, helped: Why, name: str, value: object, said: str) -> None:
    change = change_of(stored_job(bench.con, "j1"), RelaxedLimit(name, value))  # type: ignore[arg-type]
    relaxation = replace(helped.relaxations[0], changes=[change])
    asked = replace(nothing(dossier), why=replace(helped, relaxations=[relaxation]))
    assert said in told(document(german(asked), "proposal")).splitlines()


@pytest.mark.parametrize(
    ("least", "most", "said"), [(D("0.2"), D(6), "0,2 bis 6 V"), (None, D(6), "nicht bekannt bis 6 V")]
)
def test_what_an_input_takes(dossier: Dossier, least: Decimal | None, most: Decimal, said: str) -> None:
    check: SetupCheck = input_check("amplifier-1", None, D("1.9"), least, most)
    paper = document(german(replace(dossier, setup=replace(read_setup(), checks=[check]))), "setup")
    assert said in told(paper).splitlines()


def test_two_amplifiers_on_one_spot(writer: Writer) -> None:
    check = Check(
        rule="amplifier.pair_along", verdict="fits", have=D(400), need=D(390), margin=D(10), tol=D(1), unit="mm",
        about=f"seat: four{BESIDE}mono",
    )  # fmt: skip
    table: Table = clearance_table(writer, [check])
    assert table.rows[0][0].startswith("four neben mono: Seite des Platzes")


def test_an_original_head_unit(writer: Writer) -> None:
    assert writer.part("the original head unit") == "das ursprüngliche Radio"
    figure = writer.wanted("the original head unit.amp_channels")
    assert (writer.where(figure), writer.what(figure)) == (
        "das ursprüngliche Radio",
        "Kanäle des eingebauten Verstärkers",
    )


def test_the_coils_name_their_channels(bench: Bench, dossier: Dossier) -> None:
    assert dossier.package is not None
    drawn = bench.drawings.package("j1", dossier.package, lang="de", again=Words("de").again)
    assert "Kanäle," in str(drawn["coils"]) and "channels" not in str(drawn["coils"])


def test_the_notes_of_a_kept_choice_are_sentences_again() -> None:
    """A kept choice told of its cable in English, by its number."""
    made = [aluminum_says("c1"), wait_says("s1", 21)]
    kept = [*map(str, made), "a note of another wording"]
    again = notes_again(kept, ["s1", "c1"])
    assert again == kept
    assert [isinstance(note, Sentence) for note in again] == [True, True, False]
    assert Words("de").again(again[1]) == "s1 ist nicht vorrätig und braucht 21 days"
