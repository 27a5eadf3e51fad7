"""A change of mind: a job asked on other terms for once, edited, and a package chosen as it was shown."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from matcher import Shop
from matcher.commands.main import app
from matcher.errors import InputError, NotKnown
from tests.choices.conftest import JOB, THINGS
from tests.factories import plain, store_file

OTHERWISE = {"budget": "none", "wish": {"loudness": "5", "price": "0"}, "original": ["door"]}


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a shop in which one package of the job is best."""
    folder = tmp_path_factory.mktemp("terms")
    made = Shop(store_file(folder / "shop.duckdb", *THINGS))
    (folder / "job.json").write_text(json.dumps(JOB, default=plain), encoding="utf-8")
    made.jobs.load(folder / "job.json")
    return made.store.path


@pytest.fixture
def shop(made_once: Path, tmp_path: Path) -> Shop:
    """A copy of it."""
    return Shop(shutil.copy(made_once, tmp_path))


def typed(shop: Shop, *words: str) -> Any:
    run = CliRunner().invoke(app, [*words, "--store", str(shop.store.path), "--json"])
    if run.exception is not None and not isinstance(run.exception, SystemExit):
        raise run.exception
    assert run.exit_code == 0, run.output
    return json.loads(run.stdout)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["--budget", "500"], {"limits": {"budget": 500}}),
        (["--budget", "none"], {"limits": {"budget": None}}),
        (["--alteration", "drilled"], {"limits": {"alteration": "drilled"}}),
        (["--step", "door=metal_cut"], {"limits": {"per_opening": {"door": "metal_cut"}}}),
        (["--screen", "9"], {"limits": {"screen_min_in": 9}}),
        (["--must", "radio", "--must", "gps"], {"limits": {"must": ["radio", "gps"]}}),
        (["--drain", "12,5"], {"limits": {"at_rest_ma": "12,5"}}),
        (["--choose", "door"], {"choose": ["door"]}),
        (["--original", "door"], {"keep": ["door"]}),
        (["--tier", "300", "--tier", "400"], {"tiers": [300, 400]}),
        (["--route", "tow"], {"security_routes": ["tow"]}),
        (["--wish", "bass=5", "--wish", "price=0"], {"wishes": {"bass": 5, "price": 0}}),
        (
            ["--owned", "speaker-1; opening_id=door; condition=used"],
            {"owned": [{"part_id": "speaker-1", "opening_id": "door", "condition": "used", "figures": {}}]},
        ),
        (["--deliver-by", "5"], {"limits": {"deliver_within_days": 5}}),
        (["--pin", "door=speaker-1"], {"pin": {"door": "speaker-1"}}),
        (["--without", "Ulvo"], {"limits": {"without": {"parts": [], "makers": ["Ulvo"], "suppliers": []}}}),
        (["--label", "second try", "--notes", "by Friday"], {"label": "second try", "notes": "by Friday"}),
    ],
)
def test_a_term_takes_the_place_of_the_jobs_own_and_the_rest_stays(
    shop: Shop, tmp_path: Path, words: list[str], expected: dict[str, Any]
) -> None:
    shop.set("numbers", "comma")
    before = shop.jobs.document("j1").document
    typed(shop, "job", "edit", "j1", *words)
    after = typed(shop, "job", "show", "j1")
    for name, value in expected.items():
        held = {**before.get(name, {}), **value} if isinstance(value, dict) else value
        assert json.loads(json.dumps(held, default=plain)) == after[name]
    assert {name for name in after if after[name] != json.loads(json.dumps(before, default=plain)).get(name)} <= {
        *expected
    }
    (tmp_path / "again.json").write_text(json.dumps(after), encoding="utf-8")
    assert typed(shop, "job", "load", str(tmp_path / "again.json")) == {"jobs": ["j1"]}
    assert typed(shop, "job", "show", "j1") == after


def test_a_job_is_begun_and_a_taken_name_refused(shop: Shop) -> None:
    typed(shop, "job", "new", "j2", "--vehicle", "tern", "--budget", "700", "--wish", "bass=1")
    assert shop.jobs.document("j2").document["limits"] == {"budget": 700}
    assert shop.log("j2").entries[-1].what == "job load"
    with pytest.raises(InputError, match="j2"):
        shop.jobs.new("j2", "tern", {})
    with pytest.raises(NotKnown, match="gull"):
        shop.jobs.new("j3", "gull", {})


@pytest.mark.parametrize(
    ("terms", "word"),
    [
        ({"budget": "much"}, "budget: found 'much'"),
        ({"wish": {"bass": "6"}}, "wish bass: found '6'"),
        ({"wish": {"base": "5"}}, "wish base"),
        ({"step": {"door": "saw"}}, "step door: found 'saw'"),
        ({"step": {"moon": "drilled"}}, "moon"),
        ({"choose": ["moon"]}, "choose: found 'moon'"),
        ({"choose": ["door"], "original": ["door"]}, "door"),
    ],
)
def test_a_term_that_cannot_be_taken_is_named_as_it_was_typed(shop: Shop, terms: Any, word: str) -> None:
    before = shop.jobs.document("j1")
    for ask in (shop.options, shop.jobs.edit, lambda job_id, terms: shop.choices.choose(job_id, 1, terms=terms)):
        with pytest.raises(InputError) as refused:
            ask("j1", terms=terms)
        assert word in str(refused.value)
    assert (shop.jobs.document("j1"), shop.choices.all("j1")) == (before, [])


def test_nothing_to_change_is_told(shop: Shop) -> None:
    with pytest.raises(InputError, match="nothing is to be changed"):
        shop.jobs.edit("j1", {})


def test_terms_for_once_leave_the_job_as_it_is_and_keep_writes_them(shop: Shop) -> None:
    before, best = shop.jobs.document("j1"), shop.options("j1").packages
    words = ("options", "j1", "--budget", "none", "--wish", "price=0", "--original", "door")
    once = typed(shop, *words)
    assert once["packages"][0]["id"] != best[0].id
    assert (shop.jobs.document("j1"), shop.options("j1").packages) == (before, best)
    assert typed(shop, *words, "--keep")["packages"] == once["packages"]
    assert shop.options("j1").packages[0].id == once["packages"][0]["id"]


def test_a_choice_fixes_the_package_that_was_shown_on_terms_for_once(shop: Shop) -> None:
    """Once `options --wish ...` showed one package and `choose 1` fixed another."""
    shown = shop.options("j1", terms=OTHERWISE).packages[0]
    assert shown.id not in {one.id for one in shop.options("j1").packages}
    with pytest.raises(InputError, match="give the same terms"):
        shop.choices.choose("j1", shown.id)
    for wanted in (shown.id, 1):
        choice = shop.choices.choose("j1", wanted, terms=OTHERWISE)
        assert choice.package == shown
        assert choice.terms == {"budget": "none", "wish": {"loudness": 5, "price": 0}, "original": ["door"]}
        assert shop.choices.chosen("j1") == choice
    assert shop.choices.choose("j1", 1).package.id != shown.id


def test_a_choice_on_other_terms_is_held_against_those(shop: Shop) -> None:
    shop.choices.choose("j1", 1, terms=OTHERWISE)
    assert shop.choices.changes("j1").changes == []
    assert [one.what for one in shop.orders.open_points("j1")] == ["figure"]  # of the original that stays


def test_the_best_package_at_a_budget_is_chosen_by_its_id(shop: Shop) -> None:
    shop.jobs.edit("j1", {"tier": ["405"], "budget": "none"})
    (tier,) = shop.options("j1", top=1).tiers
    assert tier.package is not None
    assert shop.choices.choose("j1", tier.package.id, top=1).package.id == tier.package.id
