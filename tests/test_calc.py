"""`boltback calc ...`: each computation at the command line, with what is known and what is not."""

from __future__ import annotations

import dataclasses
import json
import typing
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from matcher.calculators.answer import Calculation, input_figures
from matcher.calculators.closed import Closed
from matcher.calculators.coils import Coils
from matcher.calculators.exposure import Exposure
from matcher.calculators.film import FilmCalculation
from matcher.calculators.gain import Gain
from matcher.calculators.setup_log import read_setup_log
from matcher.calculators.supply import SupplyAnswer
from matcher.calculators.vented import Vented
from matcher.calculators.wire import Wire
from matcher.commands.calc_base import option_of
from matcher.commands.main import app
from matcher.errors import FileRefused, InputError

ANSWERS: dict[str, tuple[type[Calculation], ...]] = {
    "wire": (Wire,),
    "coils": (Coils,),
    "box": (Closed, Vented),
    "gain": (Gain,),
    "supply": (SupplyAnswer,),
    "film": (FilmCalculation,),
    "exposure": (Exposure,),
}
DRIVER = "--fs 28 --qts 0,35 --qes 0.4 --vas 90l --sd 500 --xmax 10mm --power 500W"
SPACE = "--space-w 1000 --space-h 400 --space-d 500 --space-d-top 300 --gate-w 900 --gate-h 380"


@pytest.fixture(autouse=True)
def without_a_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder of its own, so that no shop's own settings lie there."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("BOLTBACK_STORE", raising=False)


def run(line: str) -> Any:
    return CliRunner().invoke(app, ["calc", *line.split()])


def calc(line: str) -> dict[str, Any]:
    """The answer to a command as its one JSON document."""
    done = run(f"{line} --json")
    assert done.exit_code == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    assert done.stderr == ""
    return answer


def waits_for(answer: dict[str, Any]) -> dict[str, list[str]]:
    return {unknown["figure"]: unknown["wants"] for unknown in answer["unknown"]}


# Worked values: sqrt(1 + 90/30) = 2 doubles resonance and Q; sqrt(75 x 4) = 17.32 V; 8 h / 2^5 = 0.25 h;
# 500 W / 0.8 / 12 V = 52.08 A; 60 Ah / 2 / 60 mA = 500 h; 60 A over 10 m of 4 AWG at 75 C: 0.607 V (NEC resistance).
KNOWN: list[tuple[str, dict[str, Any]]] = [
    ("wire --current 60 --length 5m", {"fuse_a": 60, "fuse_color": "blue", "ruled_by": "drop", "awg": "3"}),
    ("wire --current 60A --length 5m", {"area_mm2": 25.66, "metric_mm2": 35, "by_current_mm2": 5.26}),
    ("wire --fuse 80 --length 30cm", {"ruled_by": "current", "area_mm2": 8.37, "awg": "8", "current_a": 80}),
    ("wire --fuse 80 --length 0,3 --hot", {"awg": "6"}),  # 8 AWG carries 80 x 0.85 = 68 A in a hot space
    ("wire --current 48 --length 1", {"fuse_a": 50, "fuse_color": "red", "fuse_within_mm": 450}),
    ("wire --current 130 --length 1", {"fuse_a": 150, "fuse_color": None}),
    ("coils --drivers 1 --coils 2 --ohm 4 --block-min 4", {"count": 2, "lowest_carried_ohm": 8}),
    ("coils --drivers 2 --coils 2 --ohm 4 --block-min 1", {"count": 6, "lowest_carried_ohm": 1}),
    (f"box {DRIVER} --box 30l", {"qtc": 0.70, "fc_hz": 56, "peak_db": 0, "band": "within", "ruled_by": "travel"}),
    (f"box {DRIVER} --box 30l", {"level_db": 106.57, "travel_db": 106.57, "peak_hz": None}),
    (f"box {DRIVER} --qtc 0.7", {"net_l": 30, "each_l": 30}),
    (f"box {DRIVER} --qtc 0.7 --drivers 2", {"net_l": 60, "each_l": 30}),
    ("box --fs 28 --qes 0.5 --qms 4.5 --vas 90 --box 30", {"qtc": 0.9, "band": "within"}),
    ("box --kind vented --fs 30 --qts 0.40480 --vas 106.13", {"alignment": "B4", "net_l": 100, "f3_hz": 30}),
    ("box --kind vented --fs 30 --qts 0.5 --vas 60 --box 150 --tuned 25", {"peak_db": 1.23, "high_pass_hz": 20}),
    ("box --kind vented --fs 30 --qts 0.3 --vas 100 --box 50 --tuned 35 --port 100", {"port_length_mm": 309}),
    ("gain --power 75 --load 4", {"target_v": 17.32}),
    ("gain --clean 1 --input-min 2 --input-max 8", {"input_place": "below", "reach_pct": 25, "over_db": 0}),
    ("supply --amp 500W:d:bass", {"full_a": 43.40, "music_a": 14.47}),
    ("supply --amp 550:ab --volts 10", {"full_a": 100, "music_a": 35.36}),
    ("supply --amp 1200:ab:fuse=30", {"full_a": 47.1}),
    ("supply --amp 300:d:fuse=60:draws=3", {"full_a": 26.04}),
    ("supply --charge 70 --idle 30 --base-load 35", {"headroom_rated_a": 35, "headroom_idle_a": -5}),
    ("supply --battery 60 --drain 20 --drain 40", {"drain_ma": 60, "drain_verdict": "no", "days": 16.67}),
    ("supply --battery 60 --drain 50", {"drain_verdict": "fits", "days": 20}),
    ("supply --reserve 120 --drain 50", {"battery_ah": 50}),
    ("exposure --level 100dBA --hours 15min", {"allowed_h": 0.25, "dose_pct": 100, "week_h": 0.4}),
    ("exposure --level 80 --hours 8 --also 88:4h", {"dose_pct": 131.5}),  # 8/25.4 h and all of 4 h
]


@pytest.mark.parametrize(("line", "expected"), KNOWN)
def test_known_answers(line: str, expected: dict[str, Any]) -> None:
    answer = calc(line)
    found = {name: answer[name] for name in expected}
    assert found == {
        name: pytest.approx(value, rel=2e-3) if isinstance(value, int | float) else value
        for name, value in expected.items()
    }


@pytest.mark.parametrize(
    ("line", "waiting"),
    [
        ("wire", {"area_mm2": ["current_a or fuse_a", "length_m"]}),
        ("wire --current 60", {"by_drop_mm2": ["length_m"], "area_mm2": ["length_m"]}),
        ("wire --fuse 60 --length 5 --insulation 77", {"by_current_mm2": []}),
        ("coils --drivers 2 --coils 2", {"lowest_carried_ohm": ["ohm", "block_min_ohm"]}),
        ("coils --drivers 5 --coils 2", {"count": []}),
        ("box --fs 28 --vas 90 --box 30", {"qtc": ["qts or qes"]}),
        (f"box {DRIVER}", {"net_l": ["box_l or qtc or space_w_mm"]}),
        (f"box {DRIVER} --qtc 0.3", {"net_l": [], "qtc": []}),  # under the driver's own Q: no box gives it
        (
            f"box --space-w 1000 --space-h 400 --space-d 500 {DRIVER}",
            {"outer_w_mm": ["gate_w_mm", "gate_h_mm", "displaces_l"]},
        ),
        (f"box --kind vented {DRIVER} {SPACE} --displaces 2", {"made_net_l": ["port_takes_l"]}),
        ("gain --power 75", {"target_v": ["load_ohm"], "last_clean_step": ["log"], "clean_v": ["log or clean_v"]}),
        ("supply --amp 500W:d --charge 70", {"headroom_rated_a": ["base_load_a"], "drain_ma": ["drains_ma"]}),
        ("supply --amp 500W", {"full_a": []}),  # its class is not known
        ("supply --amp 300W:d:draws=3A", {"full_a": [], "music_a": []}),  # power and current contradict each other
        ("film", {"film_pct": ["film_pct"]}),
        ("exposure --level 70 --hours 1", {"allowed_h": []}),
        ("exposure --hours 1", {"allowed_h": ["level_dba"], "dose_pct": ["level_dba"]}),
    ],
)
def test_a_missing_value_stays_unknown_and_is_named(line: str, waiting: dict[str, list[str]]) -> None:
    answer = calc(line)
    assert {name: waits_for(answer)[name] for name in waiting} == waiting
    made = answer.get("made") or {}
    assert all((made if name in made else answer)[name] is None for name in waiting)


@pytest.mark.parametrize("command", ANSWERS)
def test_with_nothing_told_no_result_is_made_up(command: str) -> None:
    answer = calc(command)
    assert answer["unknown"]
    assert all(answer[unknown["figure"]] is None for unknown in answer["unknown"])


@pytest.mark.parametrize("command", ANSWERS)
def test_every_answer_has_sources_and_cautions(command: str) -> None:
    answer = calc(command)
    assert answer["sources"] and all(answer["sources"])
    assert answer["cautions"]
    shown = run(command)
    assert shown.exit_code == 0
    assert all(f"source: {source}\n" in shown.stdout for source in answer["sources"])
    assert all(f"caution: {caution}\n" in shown.stdout for caution in answer["cautions"])


def figures_told(answer: type[Any]) -> dict[str, dict[str, Any]]:
    hints, found = typing.get_type_hints(answer), {}
    for part in dataclasses.fields(answer):
        inside = [kind for kind in typing.get_args(hints[part.name]) if dataclasses.is_dataclass(kind)]
        if "wants" in part.metadata:
            found[part.name] = dict(part.metadata)
        elif inside and "label" not in part.metadata:
            found |= figures_told(typing.cast(type[Any], inside[0]))
    return found


@pytest.mark.parametrize(
    ("command", "answer"), [(command, answer) for command, kinds in ANSWERS.items() for answer in kinds]
)
def test_every_needed_figure_has_an_option(command: str, answer: type[Calculation]) -> None:
    options = {option for each in get_command(app).commands["calc"].commands[command].params for option in each.opts}  # type: ignore[attr-defined]
    inputs = typing.get_type_hints(answer)["given"]()
    known = dict(input_figures(typing.cast(Any, type("Question", (), {"given": inputs})())))
    wanted = {one for told in figures_told(answer).values() for want in told["wants"] for one in want.split("|")}
    assert wanted <= set(known)
    assert {option_of(one) for one in wanted} <= options


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("wire --length abc", "--length': found 'abc', expected a length such as 4.5 m"),
        ("wire --length 0", "found '0', expected a figure over 0"),
        ("wire --current 5m", "expected a current such as 30 A"),
        ("wire --conductor tin", "'tin' is not one of 'copper', 'cca'"),
        ("wire --area 99AWG", "expected a conductor's area such as 16 mm2 or 4 AWG"),
        ("box --power 500Wmax", "expected a continuous power"),
        ("box --xmax -3", "expected a figure over 0"),
        ("supply --amp 500W:x", "expected POWER:CLASS or POWER:CLASS:bass"),
        ("film --pane front:1:2:3", "expected NAME:GLASS:LIMIT[:frameless]"),
        ("exposure --also 95", "expected LEVEL:HOURS"),
    ],
)
def test_wrong_input_ends_with_one_message(line: str, says: str) -> None:
    done = run(f"{line} --json")
    assert (done.exit_code, done.stdout) == (2, "")
    assert says in " ".join(done.stderr.split())
    assert "leave the cell empty" not in done.stderr


def test_a_cable_is_checked_by_its_gauge() -> None:
    done = CliRunner().invoke(app, ["calc", "wire", "--current", "60", "--length", "5m", "--area", "4 AWG", "--json"])
    own = json.loads(done.stdout)["sizes"][-1]
    assert own["drop_v"] == pytest.approx(0.607, abs=1e-3)
    assert (own["carries_a"], own["enough"]) == (160, False)


@pytest.mark.parametrize(("drop", "enough"), [("0.58", False), ("0.61", True)])
def test_a_cable_is_enough_from_its_own_drop_on(drop: str, enough: bool) -> None:
    answer = calc(f"wire --current 60 --length 5 --area 21.15 --drop {drop}")
    assert answer["sizes"][-1]["enough"] is enough


def test_copper_clad_aluminum_takes_more_and_warns() -> None:
    copper, clad = (calc(f"wire --current 60 --length 5 --conductor {kind}") for kind in ("copper", "cca"))
    assert clad["area_mm2"] == pytest.approx(1.6 * copper["area_mm2"])
    assert any("Copper-clad" in caution for caution in clad["cautions"])


def test_every_size_that_is_named_is_enough() -> None:
    answer = calc("wire --current 110 --length 4 --hot")
    assert [size["enough"] for size in answer["sizes"]] == [True, True]
    assert all(size["largest_fuse_a"] >= answer["fuse_a"] for size in answer["sizes"])


def test_a_net_carries_its_wires_with_plus_and_minus() -> None:
    answer = calc("coils --drivers 2 --coils 1 --ohm 4 --block-min 2 --power 400")
    parallel, series = answer["nets"]
    assert (parallel["net"], parallel["load_ohm"], parallel["carried"]) == ("1 | 2", 2, True)
    assert series["wires"] == [
        "amplifier + to driver 1 coil 1 +",
        "driver 1 coil 1 - to driver 2 coil 1 +",
        "amplifier - to driver 2 coil 1 -",
    ]
    assert [net["power_per_coil_w"] for net in answer["nets"]] == [200, 200]


def test_wires_of_nets_that_the_block_carries_are_shown_and_all_on_demand() -> None:
    line = "coils --drivers 1 --coils 2 --ohm 4 --block-min 4"
    assert "wires of net 1" not in run(line).stdout
    assert "1 more: --all lists their wires" in run(line).stdout
    assert "wires of net 1" in run(f"{line} --all").stdout


def test_a_block_that_carries_nothing_is_an_answer() -> None:
    answer = calc("coils --drivers 1 --coils 1 --ohm 2 --block-min 4")
    assert answer["none"] == {"lowest_carried_ohm": "the block carries none of these nets"}
    assert answer["unknown"] == []


def test_a_box_made_to_measure_has_the_volume_for_the_wanted_q_and_a_cut_list() -> None:
    answer = calc(f"box {DRIVER} --qtc 0.7 {SPACE} --displaces 2,5 --density 769 --board 18mm --clearance 0")
    made = answer["made"]
    assert (answer["net_l"], made["made_net_l"], made["short_l"]) == (pytest.approx(30),) * 2 + (pytest.approx(0),)
    assert made["sized_by"] == "wanted volume"
    assert [(panel["panel"], panel["count"]) for panel in made["panels"]] == [
        ("end", 2), ("front", 1), ("back", 1), ("bottom", 1), ("top", 1),
    ]  # fmt: skip
    assert made["outer_h_mm"] == 380  # the gate's height


def test_the_shops_own_air_is_left_around_a_box() -> None:
    made = calc(f"box {DRIVER} {SPACE} --displaces 2")["made"]
    assert (made["outer_h_mm"], made["outer_d_mm"]) == (370, 495)  # 5 mm in front, and 5 mm twice in the gate


def test_a_space_too_small_says_how_much_is_short_and_the_box_that_fits_counts() -> None:
    answer = calc(f"box {DRIVER} --box 200 {SPACE} --displaces 2")
    made = answer["made"]
    assert made["short_l"] == pytest.approx(200 - made["made_net_l"])
    assert answer["net_l"] == made["made_net_l"] < 200


LOGS: list[tuple[str, dict[str, Any]]] = [
    ("step,volts,clean\n28,1.8,yes\n30,2.2,yes\n31,2.4,no\n", {"last_clean_step": 30, "clean_v": 2.2}),
    (
        "step;volts;clean\n31;2,4;no\n30;2200 mV;yes\n",
        {"last_clean_step": 30, "clean_v": 2.2, "first_clipped_step": 31},
    ),
    ("step,volts,clean\n28,1.8,no\n", {"last_clean_step": None, "clean_v": None, "first_clipped_step": 28}),
    ("step,volts,clean\n28,1.8,yes\n29,,\n", {"last_clean_step": 28, "first_clipped_step": None}),
    ("step,volts,clean\n28,,yes\n", {"last_clean_step": 28, "clean_v": None}),
]


@pytest.mark.parametrize(("text", "expected"), LOGS)
def test_a_set_up_log_gives_the_last_clean_step(text: str, expected: dict[str, Any], tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(text, encoding="utf-8")
    answer = calc("gain --log log.csv --clean 4")
    assert {name: answer[name] for name in expected} == expected
    assert "last_clean_step" not in waits_for(answer)


def test_a_log_that_was_never_judged_leaves_the_step_unknown(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text("step,volts,clean\n28,1.8,\n", encoding="utf-8")
    assert waits_for(calc("gain --log log.csv"))["last_clean_step"] == []


@pytest.mark.parametrize(
    ("text", "column", "found"),
    [
        ("step,volts,clean\n28,loud,yes\n", "volts", "loud"),
        ("step,volts,clean\n28,2,perhaps\n", "clean", "perhaps"),
        ("step,volts,clean\n,2,yes\n", "step", ""),
    ],
)
def test_a_log_that_cannot_be_read_names_row_and_column(text: str, column: str, found: str, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(text, encoding="utf-8")
    with pytest.raises(FileRefused) as refused:
        read_setup_log(tmp_path / "log.csv")
    (problem,) = refused.value.problems
    assert (problem.row, problem.column, problem.found) == (2, column, found)


@pytest.mark.parametrize("text", ["step,volts\n28,1\n", "step,volts,clean\n", "28,1,yes\n"])
def test_a_file_without_the_columns_is_no_log(text: str, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(text, encoding="utf-8")
    with pytest.raises(FileRefused, match="is no set-up log"):
        read_setup_log(tmp_path / "log.csv")


def test_the_battery_pays_only_what_charging_does_not_give() -> None:
    answer = calc("supply --amp 480:d --volts 12 --charge 70 --idle 30 --base-load 35 --battery 60")
    rows = {(row["engine"], row["plays"]): row for row in answer["endurance"]}
    assert answer["full_a"] == pytest.approx(50)
    assert rows["rated speed", "full sine"]["battery_adds_a"] == pytest.approx(15)
    assert rows["rated speed", "full sine"]["minutes_min"] is None  # 15 A are beyond the 5 h current of 60 Ah
    assert rows["idle", "music"]["minutes_min"] == pytest.approx(128)  # 24 Ah at 11.25 A
    assert rows["rated speed", "music"]["minutes_min"] is None
    assert rows["off", "music"]["minutes_min"] == pytest.approx(230.4)  # 24 Ah at 6.25 A
    assert rows["off", "full sine"]["minutes_min"] is None  # 50 A would empty 60 Ah within 5 h
    assert [rows["off", "full sine"]["says"], rows["rated speed", "music"]["says"]] == ["not known", "no need"]


@pytest.mark.parametrize(
    ("line", "verdict", "margin"),
    [
        ("film --film 90 --glass 78 --limit 70", "fits", 0.2),
        ("film --film 90 --glass 78 --limit 70.2", "fits", 0),
        ("film --film 35 --glass 78 --limit 70", "no", -42.7),
        ("film --film 35 --glass 78", "unknown", None),
        ("film --glass 78 --limit 70", "unknown", None),
    ],
)
def test_film_by_the_users_own_limit(line: str, verdict: str, margin: float | None) -> None:
    (pane,) = calc(line)["panes"]
    assert (pane["verdict"], pane["margin_pct"]) == (verdict, margin if margin is None else pytest.approx(margin))


def test_panes_in_one_call_and_a_frameless_one_warns() -> None:
    answer = calc("film --film 70 --pane front:78:70 --pane rear:75%::frameless")
    assert [(pane["pane"], pane["verdict"]) for pane in answer["panes"]] == [("front", "no"), ("rear", "unknown")]
    assert any("Frameless" in caution for caution in answer["cautions"])


def test_exposure_names_each_rule() -> None:
    rules = {row["rule"]: row["allowed_h"] for row in calc("exposure --level 95")["rules"]}
    assert rules == {"NIOSH": pytest.approx(0.794, abs=1e-3), "OSHA": 4, "87 dBA": pytest.approx(1.26, abs=1e-2)}


def test_a_store_that_was_named_has_to_be_there() -> None:
    done = run("wire --fuse 60 --store elsewhere.duckdb")
    assert isinstance(done.exception, InputError)
    assert "there is no store at elsewhere.duckdb" in str(done.exception)


def test_a_shop_has_its_own_drop(tmp_path: Path) -> None:
    from matcher import Shop

    Shop(tmp_path / "shop.duckdb").set("cable_drop_v", "0.25")
    half = calc("wire --current 60 --length 5")
    assert half["given"]["drop_v"] == 0.25
    assert half["by_drop_mm2"] == pytest.approx(2 * 25.66, rel=1e-3)
