"""The shop draws what its store holds, with every reading laid over, and what its answers say."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest

import data_demo
from catalog_schema.answers import Options
from catalog_schema.documents import take
from catalog_schema.figures import Figure
from catalog_schema.vehicles import Vehicle
from matcher.commands import main
from matcher.errors import InputError
from matcher.store.catalog.things import stored_opening, stored_part
from matcher.store.documents.saving import save_job, save_vehicle
from tests.bass.cars import bass_amplifier, box, cargo_space, driver
from tests.bass.towns import ELECTRICAL
from tests.drawings.read import named, size_of, texts
from tests.factories import (
    Bench,
    Row,
    adapter,
    amp_spot,
    amplifier,
    dash_opening,
    head_unit,
    speaker,
    speaker_opening,
    store_file,
    vehicle,
)


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    car = vehicle(dash_opening(), speaker_opening(), amp_spot(), cargo_space(), electrical=ELECTRICAL)
    bench.lay(head_unit(), speaker(), adapter(), box(), car)
    return bench


def answered(bench: Bench, *parts: Row, **changes: object) -> Options:
    """A job for a head unit, door loudspeakers and bass."""
    unit = head_unit(preouts=4, preout_v=2, standby_ma=1, amp_channels=4, amp_w=40, amp_min_ohm=4)
    mono = bass_amplifier(current_a=20, fuse_a=30)
    mono = {name: cell for name, cell in mono.items() if name != "class_"} | {"class": "d"}
    bench.lay(unit, speaker(sens_db=90, sens_basis="1w"), mono, *parts)
    job: Row = {"job_id": "j1", "vehicle_id": "tern", "choose": ["head_unit", "door", "bass"]}
    save_job(bench.con, json.dumps(job | changes), "test")
    return bench.options("j1", top=1)


@pytest.mark.parametrize(
    ("arguments", "views"),
    [
        (("tern/dash",), ["front", "side"]),
        (("tern/dash", "head_unit-1"), ["front", "side", "margins"]),
        (("tern/door",), ["front", "section"]),
        (("tern/door", "speaker-1"), ["front", "section", "margins"]),
        (("tern/door", "speaker-1", "adapter-1"), ["front", "section", "drill-template", "margins"]),
        (("tern/cargo",), ["space"]),
        (("tern/cargo", "box"), ["space", "margins"]),
        (("tern/seat",), ["board"]),
    ],
)
def test_every_kind_of_opening_has_its_views(bench: Bench, arguments: tuple[str, ...], views: list[str]) -> None:
    assert list(bench.drawings.drawing(*arguments)) == views


def test_a_reading_is_drawn_in_place_of_the_claim(bench: Bench) -> None:
    bench.readings.add("opening:tern/door", "hole_w_mm", 139.5)
    bench.readings.add("part:speaker-1", "magnet_mm", 101)
    front = bench.drawings.drawing("tern/door", "speaker-1")["front"]
    assert size_of(named(front, "hole")[0]) == (139.5, 139.5)
    assert size_of(named(front, "magnet")[0]) == (101, 101)
    sketch = bench.drawings.measuring("tern/door", "hole_w_mm")
    assert "139.5" in " ".join(text for text, _ in texts(sketch)).split()


def test_an_adapter_alone_is_refused(bench: Bench) -> None:
    with pytest.raises(InputError, match="an adapter is drawn with a part in it"):
        bench.drawings.drawing("tern/door", adapter="adapter-1")


@pytest.mark.parametrize("path", data_demo.vehicles(), ids=lambda path: path.stem)
def test_an_opening_is_read_back_as_it_was_written(bench: Bench, path: Path) -> None:
    text = path.read_text("utf-8")
    written = take(Vehicle, json.loads(text), "vehicle")
    save_vehicle(bench.con, text, "test")
    for opening in written.openings:
        again = stored_opening(bench.con, written.vehicle_id, opening.opening_id)
        assert _plain(again) == _plain(opening)


def _plain(opening: Any) -> Any:
    """An opening with its figures as numbers: a tolerance by a basis is written out in the store."""
    if isinstance(opening, Figure):
        return opening.value
    if isinstance(opening, tuple):
        return [_plain(one) for one in opening]
    if is_dataclass(opening):
        return {field.name: _plain(getattr(opening, field.name)) for field in fields(opening)}
    return opening


def test_words_of_the_language_are_fields_of_a_part(bench: Bench) -> None:
    part: Any = stored_part(bench.con, "adapter-1", "adapter")
    assert (part.for_, part.fits_w_mm.value, part.thick_mm) == ("speaker", 142, None)


def test_a_package_is_drawn_whole(bench: Bench) -> None:
    (best,) = answered(bench, driver(), box()).packages
    drawn = bench.drawings.package("j1", best)
    views = {"system", "dash/front", "door/section", "seat/board", "cargo/space", "bass-curve", "coils"}
    assert views <= set(drawn)
    assert drawn == bench.drawings.package("j1", 1)


def test_two_amplifiers_on_one_spot_are_drawn_together(bench: Bench) -> None:
    (best,) = answered(bench, driver(), box(), amplifier(part_id="other")).packages
    (mono,) = [line for line in best.lines if line.opening_id == "seat" and line.slot != "board"]
    both = replace(best, lines=[*best.lines, replace(mono, slot="amplifier", part_id="other")])
    assert len(named(bench.drawings.package("j1", best)["seat/board"], "amplifier")) == 1
    assert len(named(bench.drawings.package("j1", both)["seat/board"], "amplifier")) == 2


def test_the_curve_passes_through_the_level_that_the_answer_tells(bench: Bench) -> None:
    (best,) = answered(bench, driver(), box()).packages
    assert best.bass is not None
    (at_40,) = [each for each in best.bass.levels if each.hz == 40]
    curve = bench.drawings.package("j1", best)["bass-curve"]
    told = f"At 40 Hz up to {round(at_40.level_db, 1):g} dB, ruled by {at_40.ruled_by}."
    assert told in curve.describes


def test_a_made_box_is_drawn_as_large_as_its_cut_list(bench: Bench) -> None:
    bench.con.execute("delete from enclosure_rows")
    (best,) = answered(bench, driver()).packages
    assert best.bass is not None and best.bass.outer is not None
    (front,) = named(bench.drawings.package("j1", best)["cargo/space"], "box-front")
    assert size_of(front) == (float(best.bass.outer.w_mm), float(best.bass.outer.h_mm))


def test_bass_of_unknown_figures_has_no_curve_but_names_them(bench: Bench) -> None:
    answered(bench, driver(displaces_l=30), box(kind="vented", tuned_hz=None))
    bought = next(one for one in bench.options("j1", top=20).packages if "box" in [line.part_id for line in one.lines])
    curve = bench.drawings.package("j1", bought)["bass-curve"]
    assert named(curve, "most") == []
    assert "not known: tuning frequency" in [text for text, _ in texts(curve)]


def test_a_rank_that_there_is_not(bench: Bench) -> None:
    answered(bench, driver(), box())
    with pytest.raises(InputError, match="the job j1 has no package 999"):
        bench.drawings.package("j1", 999)


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command in a folder with a store: exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)
    store_file(tmp_path / "shop.duckdb", speaker(part_id="a/../b"), vehicle(speaker_opening(opening_id="door 1/x")))

    def call(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["boltback", *arguments])
        try:
            main()
            code = 0
        except SystemExit as end:
            code = int(end.code or 0)
        said = capsys.readouterr()
        return code, said.out, said.err

    return call


def test_the_command_writes_files_and_tells_their_names(run: Run, tmp_path: Path) -> None:
    code, out, _ = run("draw", "tern/door 1/x", "--part", "a/../b", "--out", "here", "--json")
    written = [one["file"] for one in json.loads(out)["drawings"]]
    assert code == 0
    assert written == [f"here/tern-door-1-x-a----b-{view}.svg" for view in ("front", "section", "margins")]
    assert all((tmp_path / name).read_text("utf-8").startswith("<svg") for name in written)
    assert "here/tern-door-1-x-front.svg" in run("draw", "tern/door 1/x", "--out", "here")[1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("tern/nowhere",), "no opening of tern 'nowhere'"),
        (("tern/door 1/x", "--part", "none"), "no part 'none'"),
        (("tern/door 1/x", "--lang", "xx"), "no words for the language 'xx'"),
        (("tern/door 1/x", "--out", "shop.duckdb"), "shop.duckdb is a file"),
        (("tern/door 1/x", "--alteration", "saw"), "'saw' is no step"),
    ],
)
def test_the_command_refuses_what_it_cannot_draw(run: Run, arguments: tuple[str, ...], said: str) -> None:
    code, out, err = run("draw", *arguments)
    assert (code, out) == (2, "")
    assert said in err
