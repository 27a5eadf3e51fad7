"""The answer to ``fit``: its shape, its arithmetic, how it ends, and what must hold of any part and opening."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog_schema.answers import VERDICT_ORDER, Fit, verdict_of
from catalog_schema.documents import check_document
from catalog_schema.jobs import LADDER
from matcher.commands import main
from matcher.settings import DEFAULT_SETTINGS
from tests.factories import (
    Bench,
    Row,
    adapter,
    amp_spot,
    amplifier,
    check_of,
    dash_kit,
    dash_opening,
    floating_unit,
    head_unit,
    oval_opening,
    oval_speaker,
    part,
    speaker,
    speaker_opening,
    store_file,
    thing,
    vehicle,
)

STEEL = {"w_mm": 170, "h_mm": 170, "material": "steel", "piece": "body"}


@pytest.fixture(scope="module")
def bench() -> Iterator[Bench]:
    """A store in memory."""
    made = Bench()
    yield made
    made.con.close()


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store on disk with a part of every family that a rule places, and some that none does."""
    cargo = {"opening_id": "boot", "kind": "cargo"}
    return store_file(
        tmp_path_factory.mktemp("fit") / "shop.duckdb",
        speaker(),
        speaker(part_id="00123"),
        speaker(part_id="deep", depth_mm=90),
        adapter(),
        dash_kit(),
        head_unit(),
        amplifier(),
        part("film"),
        vehicle(speaker_opening(cut=STEEL), dash_opening(keep_clear=[thing()]), amp_spot(), cargo),
    )


def run(*words: str) -> tuple[int, str, str]:
    """The command's exit code, stdout and stderr."""
    out, err = io.StringIO(), io.StringIO()
    before, sys.argv = sys.argv, ["boltback", *words]
    try:
        with redirect_stdout(out), redirect_stderr(err):
            main()
    except SystemExit as end:
        return int(end.code or 0), out.getvalue(), err.getvalue()
    finally:
        sys.argv = before
    return 0, out.getvalue(), err.getvalue()


# --- the shape of the answer ---

FIT_KEYS = {"part_id": str, "opening": str, "verdict": str, "checks": list}
CHECK_KEYS = {
    "rule": str,
    "verdict": str,
    "tol": (int, float),
    "unit": str,
    "says": str,
    "source": str,
    "missing": list,
}

QUESTIONS: list[tuple[Row, Row, Row | None]] = [
    (speaker(), speaker_opening(), None),
    (speaker(depth_mm=None), speaker_opening(behind=None), None),
    (speaker(), speaker_opening(hole_w_mm=130, cut=STEEL), None),
    (speaker(cutout_w_mm=120, flange_w_mm=140), speaker_opening(), adapter()),
    (oval_speaker(), oval_opening(hole_h_mm=None), None),
    (head_unit(), dash_opening(), None),
    (floating_unit(), dash_opening(keep_clear=[thing(), thing("vent", y_mm=-90)]), None),
    (head_unit(), dash_opening(h_mm=112, w_mm=184), dash_kit()),
    (amplifier(), amp_spot(), None),
]


@pytest.fixture(scope="module")
def answers(bench: Bench) -> list[Fit]:
    steps = ("bolt_in", "bolt_on", "metal_cut")
    return [bench.ask(one, opening, through, step) for one, opening, through in QUESTIONS for step in steps]


def test_answers_have_the_contract_s_shape(answers: list[Fit]) -> None:
    for fit in answers:
        told = json.loads(json.dumps(fit.to_dict(), allow_nan=False))
        check_document(told, "fit")
        assert all(isinstance(told[key], kind) for key, kind in FIT_KEYS.items())
        assert {"alteration", "adapter_id", "cut"} <= set(told)
        assert told["alteration"] in (None, *LADDER)
        assert told["cut"] is None or {"w_mm", "h_mm", "material"} <= set(told["cut"])
        for check in told["checks"]:
            assert all(isinstance(check[key], kind) for key, kind in CHECK_KEYS.items())
            assert check["says"] and check["source"]
            for key in ("have", "need", "margin"):
                assert check[key] is None or isinstance(check[key], int | float)


def test_margin_verdict_and_missing_agree(answers: list[Fit]) -> None:
    for fit in answers:
        assert fit.verdict == min((check.verdict for check in fit.checks), key=VERDICT_ORDER.__getitem__)
        for check in fit.checks:
            assert check.verdict == verdict_of(check.margin, check.tol)
            assert (check.margin is None) == bool(check.missing)
            if check.margin is not None:
                assert check.have is not None and check.need is not None
                assert check.margin == check.have - check.need
            for name in check.missing:
                assert name.partition(".")[0] in ("part", "opening", "adapter", "vehicle")


def test_numbers_are_exact_and_plain(bench: Bench) -> None:
    """0.3 less 0.1 less 0.2 is nothing, and a whole number is written as one."""
    fit = bench.ask(
        speaker(depth_mm=40.1, depth_mm_tol=0, front_mm=0.1, xmax_mm=0.2),
        speaker_opening(depth_mm={"value": 43.1, "tol": 0}, front_mm=2.3),
    )
    assert (check_of(fit, "speaker.depth").margin, check_of(fit, "speaker.depth").verdict) == (0, "fits")
    assert check_of(fit, "speaker.front").margin == 0
    written = json.dumps(fit.to_dict())
    assert '"margin": 0,' in written and '"have": 43.1,' in written
    assert "E+" not in written and "e-" not in written.replace("shape-", "")


def test_the_same_question_gives_the_same_bytes(bench: Bench) -> None:
    for question in QUESTIONS:
        first, second = (json.dumps(bench.ask(*question).to_dict()) for _ in range(2))
        assert first == second


def test_row_order_is_irrelevant(bench: Bench) -> None:
    things = [thing(f"thing {x}", x_mm=x, y_mm=y) for x, y in ((-150, 90), (0, 100), (60, -120))]
    keeps = []
    for order in (things, things[::-1]):
        fit = bench.ask(floating_unit(), dash_opening(keep_clear=order))
        keeps.append(sorted((check.about, check.margin) for check in fit.checks if check.about))
    assert keeps[0] == keeps[1]


# --- the command ---


def test_json_is_all_there_is_on_stdout(store: Path) -> None:
    code, out, err = run("fit", "00123", "tern/door", "--json", "--store", str(store))
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert (told["part_id"], told["opening"], told["verdict"], told["alteration"]) == (
        "00123",
        "tern/door",
        "fits",
        "bolt_in",
    )


def test_no_is_an_answer(store: Path) -> None:
    code, out, err = run("fit", "deep", "tern/door", "--store", str(store))
    assert (code, err) == (0, "")
    assert "speaker.depth" in out and all(len(line) <= 100 for line in out.splitlines())


WRONG: list[tuple[tuple[str, ...], str]] = [
    (("x", "tern/door"), "no part 'x'"),
    (("speaker-2", "tern/door"), "did you mean speaker-1?"),
    (("", "tern/door"), "no part ''"),
    (("\udcff", "tern/door"), "no UTF-8 text"),
    (("speaker-1", "tern/dor"), "did you mean door?"),
    (("speaker-1", "\udcff/door"), "no UTF-8 text"),
    (("speaker-1", "trn/door"), "did you mean tern?"),
    (("speaker-1", "tern"), "VEHICLE/OPENING"),
    (("speaker-1", "/door"), "VEHICLE/OPENING"),
    (("speaker-1", "tern/"), "VEHICLE/OPENING"),
    (("speaker-1", ""), "VEHICLE/OPENING"),
    (("speaker-1", "tern/dash"), "an opening of kind dash"),
    (("speaker-1", "tern/boot"), "an opening of kind cargo"),
    (("film-1", "tern/door"), "no rule places a film"),
    (("speaker-1", "tern/door", "--adapter", "x"), "no part 'x'"),
    (("speaker-1", "tern/door", "--adapter", "amplifier-1"), "no adapter"),
    (("speaker-1", "tern/door", "--adapter", "kit-1"), "made for a dash opening"),
    (("amplifier-1", "tern/seat", "--adapter", "adapter-1"), "made for a speaker opening"),
    (("speaker-1", "tern/door", "--alteration", "cut"), "bolt_in, bolt_on, spare_piece"),
    (("speaker-1",), "Missing argument"),
    (("speaker-1", "tern/door", "--adaptor", "x"), "No such option"),
]


@pytest.mark.parametrize(("words", "says"), WRONG)
def test_wrong_use_ends_in_one_helpful_message(store: Path, words: tuple[str, ...], says: str) -> None:
    code, out, err = run("fit", *words, "--store", str(store))
    assert (code, out) == (2, "")
    assert says in err and "Traceback" not in err


def no_file(folder: Path) -> Path:
    return folder / "nothing.duckdb"


def no_folder(folder: Path) -> Path:
    return folder / "nowhere" / "shop.duckdb"


def is_folder(folder: Path) -> Path:
    return folder


def is_text(folder: Path) -> Path:
    (folder / "shop.duckdb").write_text("part_id,maker\n", encoding="utf-8")
    return folder / "shop.duckdb"


def is_empty(folder: Path) -> Path:
    (folder / "shop.duckdb").touch()
    return folder / "shop.duckdb"


def is_another_database(folder: Path) -> Path:
    with duckdb.connect(str(folder / "shop.duckdb")) as con:
        con.execute("create table t (i integer)")
    return folder / "shop.duckdb"


def is_of_a_later_format(folder: Path) -> Path:
    with duckdb.connect(str(folder / "shop.duckdb")) as con:
        con.execute("create table meta (format integer)")
        con.execute("insert into meta values (99)")
    return folder / "shop.duckdb"


STORES: list[tuple[Callable[[Path], Path], int, str]] = [
    (no_file, 2, "there is no store"),
    (no_folder, 2, "there is no store"),
    (is_folder, 2, "there is no store"),
    (is_text, 3, "not a store that can be opened"),
    (is_empty, 3, "not a store that can be opened"),
    (is_another_database, 3, "no store of ours"),
    (is_of_a_later_format, 3, "format 99"),
]


@pytest.mark.parametrize(("make", "code", "says"), STORES)
def test_a_store_that_is_none(tmp_path: Path, make: Callable[[Path], Path], code: int, says: str) -> None:
    path = make(tmp_path)
    found, out, err = run("fit", "speaker-1", "tern/door", "--store", str(path))
    assert (found, out) == (code, "")
    assert says in err and str(path) in err and "fix: " in err


def test_a_store_held_by_another_process(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("matcher.store.database.connection.PATIENCE_S", 0.2)
    holding = "import duckdb, sys; con = duckdb.connect(sys.argv[1]); print('held', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", holding, str(store)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        code, out, err = run("fit", "speaker-1", "tern/door", "--store", str(store))
        holder.communicate("\n")
    assert (code, out) == (2, "")
    assert f"process {holder.pid}" in err and "try again in a moment" in err
    assert run("fit", "speaker-1", "tern/door", "--store", str(store))[0] == 0, "and let go, it answers"


# --- what must hold of any part and opening ---

ROUND_FIGURES = (
    "cutout_w_mm",
    "depth_mm",
    "flange_w_mm",
    "bolt_circle_mm",
    "bolt_count",
    "magnet_mm",
    "front_mm",
    "xmax_mm",
)
HOLE_FIGURES = (
    "hole_w_mm",
    "bolt_circle_mm",
    "bolt_count",
    "depth_mm",
    "front_mm",
    "flat_w_mm",
    "flat_h_mm",
    "behind",
    "beside_mm",
)
OVAL_FIGURES = ("cutout_w_mm", "cutout_h_mm", "flange_w_mm", "flange_h_mm", "bolt_w_mm", "bolt_h_mm")
OVAL_HOLE = ("hole_w_mm", "hole_h_mm", "bolt_w_mm", "bolt_h_mm", "count", "shape")
UNIT_FIGURES = (
    "body_w_mm",
    "body_h_mm",
    "body_d_mm",
    "face_w_mm",
    "face_d_mm",
    "mount",
    "mass_kg",
    "screen",
    "screen_in",
)
DASH_FIGURES = ("w_mm", "h_mm", "depth_mm", "proud_max_mm", "rear_support", "shape")
SCREEN_FIGURES = ("screen_w_mm", "screen_h_mm", "screen_d_mm", "screen_rise_min_mm", "screen_rise_max_mm", "screen")

BASES: list[tuple[Callable[..., Row], tuple[str, ...], Callable[..., Row], tuple[str, ...]]] = [
    (speaker, ROUND_FIGURES, speaker_opening, HOLE_FIGURES),
    (oval_speaker, OVAL_FIGURES, oval_opening, OVAL_HOLE),
    (head_unit, UNIT_FIGURES, dash_opening, DASH_FIGURES),
    (floating_unit, SCREEN_FIGURES, dash_opening, DASH_FIGURES),
    (amplifier, ("w_mm", "h_mm", "d_mm"), amp_spot, ("w_mm", "h_mm", "d_mm")),
]
WORDS: dict[str, tuple[Any, ...]] = {
    "behind": ("fixed", "moving_glass"),
    "mount": ("body", "twin_shaft"),
    "screen": ("none", "flush", "floating"),
    "rear_support": (True, False),
    "bolt_count": (3, 4),
    "count": (1, 2),
}


@st.composite
def questions(draw: st.DrawFn) -> tuple[Row, Row]:
    """A part and an opening near one another: near fits, near misses, quarter turns."""
    make, own, place, measured = draw(st.sampled_from(BASES))
    one, opening = make(), place()
    for thing_asked, names in ((one, own), (opening, measured)):
        for name in draw(st.lists(st.sampled_from(names), unique=True, max_size=5)):
            thing_asked[name] = draw(near(name, thing_asked))
    if opening["kind"] == "dash" and draw(st.booleans()):
        opening["keep_clear"] = [thing(y_mm=draw(st.integers(40, 90)))]
    return one, opening


def near(name: str, row: Row) -> st.SearchStrategy[Any]:
    if name == "shape":
        return st.sampled_from(["rect", "twin_shaft"] if row.get("kind") == "dash" else ["oval", "rect"])
    if name in WORDS:
        return st.sampled_from(WORDS[name])
    value = row.get(name) or 100
    if name.endswith(("_kg", "_in")):
        return st.integers(1, 12)
    turns = [row[other] for other in row if other.endswith(name[-5:]) and isinstance(row[other], int)]
    return st.one_of(st.integers(-6, 6).map(lambda by: max(1, value + by)), st.sampled_from([value, *turns]))


def asked(bench: Bench, one: Row, opening: Row, step: str = "bolt_on") -> str:
    return bench.ask(one, opening, None, step).verdict


def some_figure(one: Row, opening: Row) -> st.SearchStrategy[tuple[str, str]]:
    figures = [("part", name) for name in one if name.endswith("_mm") or name in WORDS]
    figures += [("opening", name) for name in opening if name.endswith("_mm") or name in WORDS]
    return st.sampled_from([*figures, *([("opening", "shape")] if "shape" in opening else [])])


MANY = settings(max_examples=12, deadline=None)


@MANY
@given(st.data())
def test_more_knowledge_never_turns_a_verdict_over(bench: Bench, data: st.DataObject) -> None:
    """A figure that was not known may settle what was to be measured, and nothing else."""
    one, opening = data.draw(questions())
    for _ in range(data.draw(st.integers(0, 2))):
        owner, name = data.draw(some_figure(one, opening))
        (one if owner == "part" else opening)[name] = None
    owner, name = data.draw(some_figure(one, opening))
    blank = dict(one if owner == "part" else opening, **{name: None})
    before = asked(bench, *((blank, opening) if owner == "part" else (one, blank)))
    after = asked(bench, one, opening)
    assert (before, after) not in {("fits", "no"), ("no", "fits"), ("fits", "measure"), ("no", "measure")}


@MANY
@given(
    questions(),
    st.sampled_from(["depth_mm", "hole_w_mm", "proud_max_mm", "front_mm", "beside_mm", "h_mm", "flat_w_mm"]),
    st.integers(1, 20),
)
def test_more_room_never_loses_a_fit_of_that_room(
    bench: Bench, question: tuple[Row, Row], name: str, more: int
) -> None:
    """The rules that only want room of a figure: deeper, wider, freer is never worse for them."""
    one, opening = question
    if name not in opening:
        return
    wants = {
        "depth_mm": ("speaker.depth", "dash.depth"),
        "hole_w_mm": (),
        "proud_max_mm": ("dash.proud",),
        "front_mm": ("speaker.front",),
        "beside_mm": ("speaker.beside",),
        "h_mm": ("amplifier.board_height",),
        "flat_w_mm": ("speaker.flat_width",),
    }[name]
    fits = [bench.ask(one, {**opening, name: opening[name] + by}) for by in (0, more)]
    for rule in wants:
        margins = [check.margin for fit in fits for check in fit.checks if check.rule == rule]
        if margins and None not in margins:
            assert margins[1] == margins[0] + more  # type: ignore[operator]
    if name == "depth_mm":
        assert VERDICT_ORDER[fits[1].verdict] >= VERDICT_ORDER[fits[0].verdict]


@MANY
@given(questions(), st.booleans())
def test_a_looser_step_never_loses_a_part(bench: Bench, question: tuple[Row, Row], can_be_cut: bool) -> None:
    one, opening = question
    if can_be_cut and opening["kind"] != "amp_spot":
        opening = {**opening, "cut": STEEL | {"piece": "spare"}}
    bench.lay(one, vehicle(opening))
    place = f"tern/{opening['opening_id']}"
    verdicts = [bench.fit(one["part_id"], place, alteration=step).verdict for step in LADDER]
    allowed = [verdict != "no" for verdict in verdicts]
    assert allowed == sorted(allowed)
    least = bench.fit(one["part_id"], place).alteration
    assert least == (LADDER[allowed.index(True)] if any(allowed) else None)


@MANY
@given(st.decimals(0, 3, places=2), st.decimals(0, 3, places=2), st.decimals(55, 75, places=2))
def test_a_tolerance_is_the_sum_of_its_figures(
    bench: Bench, of_part: Decimal, of_opening: Decimal, depth: Decimal
) -> None:
    fit = bench.ask(speaker(depth_mm_tol=of_part), speaker_opening(depth_mm={"value": depth, "tol": of_opening}))
    check = check_of(fit, "speaker.depth")
    assert check.tol == of_part + of_opening
    assert check.margin == depth - 63
    assert check.verdict == verdict_of(depth - 63, of_part + of_opening)


BASES_MM = sorted(dict(DEFAULT_SETTINGS.by_word("tolerance_mm")).items())


@pytest.mark.parametrize("of_part_and_opening", list(zip(BASES_MM, BASES_MM[1:] + BASES_MM[:1], strict=True)))
def test_a_basis_sets_the_tolerance(
    bench: Bench, of_part_and_opening: tuple[tuple[str, Decimal], tuple[str, Decimal]]
) -> None:
    (of_part, part_tol), (of_opening, opening_tol) = of_part_and_opening
    whole = bench.ask(speaker(basis=of_part), speaker_opening(basis=of_opening))
    single = bench.ask(speaker(basis=of_part), speaker_opening(depth_mm={"value": 70, "basis": of_opening}))
    assert check_of(whole, "speaker.depth").tol == check_of(single, "speaker.depth").tol == part_tol + opening_tol


@pytest.mark.parametrize("written", ["70 mm", "7 cm", 70, 70.0, {"value": "70"}, "70,0", "70.00 mm (measured)"])
def test_the_same_opening_in_other_units_gets_the_same_answer(bench: Bench, written: Any) -> None:
    plain = bench.ask(speaker(), speaker_opening())
    assert bench.ask(speaker(), speaker_opening(depth_mm=written)) == plain
