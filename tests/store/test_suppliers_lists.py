"""Lists as suppliers send them, through the maps that lie beside the demo, and through proposed ones."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from xlsxwriter import Workbook  # type: ignore[import-untyped]

import data_demo
from catalog_schema.maps import ListMap
from matcher.errors import FileRefused, InputError, NotKnown
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.importing.report import LoadReport
from matcher.store.lists.files import look_at
from matcher.store.mapping.kept_maps import choose_map, parse_map, read_map_file
from matcher.store.mapping.list_tables import read_tables
from matcher.store.mapping.map_proposals import ListAnswers, propose_map
from matcher.store.mapping.proposals import Proposal

Ask = Callable[..., list[tuple[Any, ...]]]

GERMAN = """\
Preisliste, gültig ab Mai

Art.-Nr.;Marke;Bezeichnung;Bauform;Größe;Ausschnitt Ø mm;Ausschnitt H mm;Einbautiefe (mm);Korb Ø mm;Lochkreis;\
Impedanz;Belastbarkeit RMS/Max;Kennschalldruck dB (2,83V/1m);fs;Xmax;Preis;Einheit
00107;Nordhall;NH Z1 Koax für Türen;rund;165 mm;127,5;;61,3;160,0;146,0;4 Ohm;60/120 W;87,5;66 Hz;3,2 mm;€ 1.220,00;Paar
00108;Nordhall;NH Z2;oval;6x9;150,1;220,4;k. A.;;;2 x 4 Ohm;45,5/90 W;90,1;58 Hz;4,0 mm;€ 70,75;Stück
;;-- Fortsetzung --
00109;Nordhall;NH Z3 Koax;rund;87 mm;78,4;;;97,0;;3 Ohm;200 W max;87,3;69 Hz;1,9 mm;€ 137,59;Paar
00110;Nordhall;NH Z4 Koax;rund;100 mm;94,6;;59,2 ±1;120,0;106,0;8 Ohm;50/100 W;88,3;66 Hz;3,0 mm;€ 175,88;Paar
Summe;;;;;;;;;;;;;;;4 Artikel;
"""

DUAL = (
    'sub\t10 inch driver, dual coil\t"10"""\t"4-5/16"""\t9 3/16 in\t2x4\t250 rms (500 max)\t'
    "Qts 0.57 Fs 30.2 Vas 1.5 cu ft Xmax 13.6mm Sd 330 cm2"
)
MIXED = "\n".join(
    [
        "\ufeffcode\ttype\tdescription\tdims\tmounting depth\tcut-out\tohms\tpower\textras\tprice ea/pr\tqty on hand",
        f"PB-001\t{DUAL}\t85.95 ea\t7",
        'PB-002\tsub\t12 inch driver, single coil\t"12"""\t5 in\t11 1/16 in\t4\t1200 max\tFs 29.6\t131.32 ea\t8',
        'PB-003\tbox\tvented for 1 x 12 inch\t"29 15/16 in x 12-7/8"" x 12-11/16""/8 7/8 in"\t\t\t\t\t'
        "1.87 cu ft net\t132.90 ea\t3",
        "PB-004\thead unit\tfloating size receiver with 9in screen\t178 x 50 x 155 mm\t\t\t4\t"
        "22 rms x 4 (50 x 4 max)\tbluetooth; 2.5 V line out x 6; DAB\t592.85 ea\t0",
        'PB-005\tsub\t"=HYPERLINK(""x"")"\t"8"""\t\t\t4\t300 rms\t\t100 pr\t1',
        "PB-006\tgadget\tphone holder\t\t\t\t\t\t\t9.50 ea\t44",
        f"PB-001\t{DUAL}\t85.95 ea\t7",
        f"PB-001\t{DUAL}\t80.00 ea\t7",
        "",
    ]
)

AMPLIFIERS = [
    ["SALTMARSH TRADE LIST"],
    ["prices ex works"],
    [],
    ["SKU", "Brand", "Model", "Channels", "RMS per channel", "Bass channel RMS", "Bridged", "Min load (full / bass)",
     "Input range", "Class", "Fuses", "L x W x H", "Price", "Price incl."],
    ["0900", "Saltmarsh", "Eider .1", "mono", "", "500 W (4 ohm) / 850 W (2 ohm) / 1300 W (1 ohm)", "n/a", "- / 1",
     "0,3 V to 8 V", "AB", "60A", "11-1/4 x 7-11/16 x 2 in", 810.4, "=M5*1.2"],
    ["0901", "Saltmarsh", "Tern 4", "4", "75W @ 4ohm, 112W @ 2ohm", "", "225W @ 4ohm", "2 / -", "150 mV–4 V", "Class D",
     "2 x 40", "12 x 5 x 1-13/16 in", "880.62", "=M6*1.2"],
    ["0902", "Saltmarsh", "Reed 4.1", "4+1", "40W @ 4ohm", "200 W (4 ohm)", "n/a", "4 / 2", "0.2-5 V", "A/B", "3 x 25",
     "9 x 7 x 2 in", 99, "=M7*1.2"],
    [],
    ["* bridged figures at 14.4 V"],
]  # fmt: skip


def write_lists(folder: Path) -> dict[str, Path]:
    german, mixed, amplifiers = folder / "lautsprecher.csv", folder / "mixed.tsv", folder / "amplifiers.xlsx"
    german.write_bytes(GERMAN.replace("\n", "\r\n").encode("cp1252"))
    mixed.write_text(MIXED, encoding="utf-8")
    with Workbook(str(amplifiers)) as book:
        sheet = book.add_worksheet("Spring list")
        for place, row in enumerate(AMPLIFIERS):
            sheet.write_row(place, 0, row)
        book.add_worksheet("Terms").write(0, 0, "Prices are each.")
    return {"norrland-lautsprecher": german, "pebble-bay-mixed": mixed, "saltmarsh-amplifiers": amplifiers}


def kept_map(name: str) -> ListMap:
    return read_map_file(data_demo.HERE / "maps" / f"{name}.json")[0]


def proposed(path: Path) -> ListMap:
    return parse_map(json.dumps(proposal_of(path).map), str(path))


def proposal_of(path: Path, family: str | None = None) -> Proposal:
    tables, _ = read_tables(look_at(path), None)
    return propose_map(tables[0], path, ListAnswers(family))


LOADS = "Min load (full / bass)"
NAMES = ["norrland-lautsprecher", "pebble-bay-mixed", "saltmarsh-amplifiers"]
WAYS = {"kept": lambda name, path: kept_map(name), "proposed": lambda name, path: proposed(path)}


@pytest.fixture(autouse=True)
def _currency(store: Store) -> None:
    """The lists name it."""
    with store.changing() as con:
        con.execute("insert into word_setting values ('currency', 'EUR')")


@pytest.fixture(params=list(WAYS))
def load(request: pytest.FixtureRequest, store: Store, tmp_path: Path) -> Callable[[str], LoadReport]:
    """Load one of the lists, through the map beside the demo and through the proposed one."""
    lists = write_lists(tmp_path)
    return lambda name: load_lists(store, [lists[name]], map_=WAYS[request.param](name, lists[name]))


@pytest.mark.parametrize(
    ("name", "new", "duplicates", "problems", "skipped"),
    [
        ("norrland-lautsprecher", 3, 0, [7], {"title": 1, "blank": 1, "header": 1, "continuation": 1, "total": 1}),
        ("pebble-bay-mixed", 4, 1, [3, 7, 9], {"header": 1}),
        ("saltmarsh-amplifiers", 3, 0, [], {"title": 2, "blank": 2, "header": 1, "footnote": 1}),
    ],
)
def test_every_line_is_accounted_for(
    load: Callable[[str], LoadReport],
    name: str,
    new: int,
    duplicates: int,
    problems: list[int],
    skipped: dict[str, int],
) -> None:
    report = load(name)
    assert (report.new, report.duplicates) == (new, duplicates)
    assert [row.line for row in report.problems] == problems
    assert +report.skipped == skipped
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()
    again = load(name)
    assert (again.changes_nothing, again.version, again.unchanged) == (True, 1, new)


def test_figures_of_the_german_list_are_in_the_catalog(load: Callable[[str], LoadReport], ask: Ask) -> None:
    load("norrland-lautsprecher")
    query = (
        "select part_id, kind, shape, size, cutout_w_mm, cutout_h_mm, depth_mm, depth_mm_tol, bolt_circle_mm, coils, "
        "impedance_ohm, rms_w, sens_db, sens_basis, fs_hz, xmax_mm, price, pack_of from speaker order by 1"
    )
    d = Decimal
    assert ask(query) == [
        ("00107", "coaxial", "round", "165 mm", d("127.5"), None, d("61.3"), None, 146, 1,
         4, 60, d("87.5"), "2v83", 66, d("3.2"), 1220, 2),
        ("00108", None, "oval", "6x9", d("150.1"), d("220.4"), None, None, None, 2,
         4, d("45.5"), d("90.1"), "2v83", 58, 4, d("70.75"), 1),
        ("00110", "coaxial", "round", "100 mm", d("94.6"), None, d("59.2"), 1, 106, 1,
         8, 50, d("88.3"), "2v83", 66, 3, d("175.88"), 2),
    ]  # fmt: skip


def test_figures_of_the_mixed_list_are_in_the_catalog(load: Callable[[str], LoadReport], ask: Ask) -> None:
    load("pebble-bay-mixed")
    d = Decimal
    assert ask(
        "select part_id, model, size_in, coils, coil_ohm, rms_w, depth_mm, cutout_mm, fs_hz, qts, vas_l, xmax_mm, "
        "sd_cm2, price, pack_of, stock from subwoofer order by 1"
    ) == [
        ("PB-001", "10 inch driver, dual coil", 10, 2, 4, 250, d("109.5375"), d("233.3625"), d("30.2"), d("0.57"),
         d("42.475270"), d("13.6"), 330, d("85.95"), 1, 7),
        ("PB-005", '=HYPERLINK("x")', 8, 1, 4, 300, None, None, None, None, None, None, None, 100, 2, 1),
    ]  # fmt: skip
    assert ask("select part_id, kind, drivers, driver_size_in, net_l, w_mm, h_mm, d_mm, d_top_mm from enclosure") == [
        ("PB-003", "vented", 1, 12, d("52.952503"), d("760.4125"), d("327.025"), d("322.2625"), d("225.425"))
    ]
    assert ask(
        "select part_id, screen, screen_in, body_w_mm, body_h_mm, body_d_mm, amp_w, amp_channels, amp_min_ohm, "
        "preouts, preout_v, features, stock from head_unit"
    ) == [("PB-004", "floating", 9, 178, 50, 155, 22, 4, 4, 6, d("2.5"), ["bluetooth", "dab"], 0)]


def test_figures_of_the_amplifier_list_are_in_the_catalog(load: Callable[[str], LoadReport], ask: Ask) -> None:
    load("saltmarsh-amplifiers")
    d = Decimal
    assert ask(
        "select part_id, full_channels, full_w_4ohm, full_w_2ohm, full_min_ohm, full_bridged_w_4ohm, bass_channels, "
        "bass_w_4ohm, bass_w_2ohm, bass_w_1ohm, bass_min_ohm, input_min_v, input_max_v, class, fuse_a, d_mm, "
        "w_mm, h_mm, price from amplifier order by 1"
    ) == [
        ("0900", 0, None, None, None, None, 1, 500, 850, 1300, 1, d("0.3"), 8, "ab", 60,
         d("285.75"), d("195.2625"), d("50.8"), d("810.40")),
        ("0901", 4, 75, 112, 2, 225, 0, None, None, None, None, d("0.15"), 4, "d", 80,
         d("304.8"), 127, d("46.0375"), d("880.62")),
        ("0902", 4, 40, None, 4, None, 1, 200, None, None, 2, d("0.2"), 5, "ab", 75,
         d("228.6"), d("177.8"), d("50.8"), 99),
    ]  # fmt: skip


def test_a_maximum_never_becomes_a_continuous_power(load: Callable[[str], LoadReport]) -> None:
    for name in NAMES:
        for row in load(name).problems:
            if "max" in row.faults[0].found:
                assert row.faults[0].column == "rms_w"
                assert "a maximum is not a continuous power" in row.faults[0].fix


def test_problem_rows_keep_the_cells_of_the_list(store: Store, tmp_path: Path) -> None:
    path = write_lists(tmp_path)["norrland-lautsprecher"]
    (row,) = load_lists(store, [path], map_=kept_map("norrland-lautsprecher")).problems
    assert row.headers[:3] == ("Art.-Nr.", "Marke", "Bezeichnung")
    assert row.cells[:4] == ("00109", "Nordhall", "NH Z3 Koax", "rund")
    assert (row.part_id, row.fields["shape"], row.fields["rms_w"]) == ("00109", "round", "200 W max")


def test_a_map_is_kept_by_its_name(store: Store, tmp_path: Path) -> None:
    path = write_lists(tmp_path)["norrland-lautsprecher"]
    file = data_demo.HERE / "maps" / "norrland-lautsprecher.json"
    with pytest.raises(NotKnown):
        choose_map(store, "norrland")
    chosen, text = choose_map(store, file)
    load_lists(store, [path], map_=chosen, keep_map=text)
    again, none = choose_map(store, "norrland")
    assert (again, none) == (chosen, None)
    with pytest.raises(NotKnown, match="norrland"):
        choose_map(store, "norland")


@pytest.mark.parametrize(
    ("family", "error"), [("film", InputError), ("speaker", None), (None, None)], ids=["other", "same", "none"]
)
def test_a_map_and_a_family(store: Store, tmp_path: Path, family: str | None, error: type[InputError] | None) -> None:
    path = write_lists(tmp_path)["norrland-lautsprecher"]
    if error is None:
        assert load_lists(store, [path], family, map_=kept_map("norrland-lautsprecher")).new == 3
    else:
        with pytest.raises(error, match="is for speaker"):
            load_lists(store, [path], family, map_=kept_map("norrland-lautsprecher"))


def test_a_map_of_another_list(store: Store, tmp_path: Path) -> None:
    with pytest.raises(FileRefused, match="no line with the headers"):
        load_lists(store, [write_lists(tmp_path)["pebble-bay-mixed"]], map_=kept_map("norrland-lautsprecher"))


def test_two_words_of_one_family_fill_their_fields_by_name(store: Store, tmp_path: Path, ask: Ask) -> None:
    """Past bug: hole 143, flange 165, depth 55 came in as a cut-out of 165 x 55 and a depth of 143."""
    rows = [
        "no,cat,name,price,a,b,c,ohm,w,size",
        "1,RD,Linnet,5,143,165,55,4,50,165 mm",
        "2,OV,Wren,5,152,221,82,4,90,6x9",
    ]
    (tmp_path / "list.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    fields = {"no": "part_id", "name": "model", "price": "price", "ohm": "impedance_ohm", "w": "rms_w", "size": "size"}
    words = {
        "RD": {"a": "cutout_w_mm", "b": "flange_w_mm", "c": "depth_mm"},
        "OV": {"a": "cutout_w_mm", "b": "cutout_h_mm", "c": "depth_mm"},
        "one more of it": {"a": "depth_mm", "b": "notes", "c": "notes"},
    }
    shapes = {"RD": "round", "OV": "oval", "one more of it": "rect"}
    document = {
        "name": "m",
        "family_column": "cat",
        "fields": fields,
        "constants": {"maker": "M"},
        "families": {
            word: {"family": "speaker", "fields": own, "constants": {"shape": shapes[word]}}
            for word, own in words.items()
        },
    }
    report = load_lists(store, [tmp_path / "list.csv"], map_=parse_map(json.dumps(document), "m.json"))
    assert report.new == 2
    assert ask("select part_id, cutout_w_mm, cutout_h_mm, flange_w_mm, depth_mm from speaker order by 1") == [
        ("1", 143, None, 165, 55),
        ("2", 152, 221, None, 82),
    ]


@pytest.mark.parametrize(
    ("name", "unsure"),
    [
        ("norrland-lautsprecher", {"Belastbarkeit RMS/Max"}),
        ("saltmarsh-amplifiers", {"Min load (full / bass)", "Fuses", "Price incl."}),
    ],
)
def test_a_proposal_says_what_it_is_not_sure_of(tmp_path: Path, name: str, unsure: set[str]) -> None:
    proposal = proposal_of(write_lists(tmp_path)[name])
    assert {remark.about for remark in proposal.remarks if not remark.sure} == unsure


@pytest.mark.parametrize(
    ("text", "family", "field", "says"),
    [
        ("SKU,Brand,Model,Price,Power\n1,M,m,5,50\n", "speaker", "Power", "left out"),
        ("SKU,Brand,Model,Price,Max power\n1,M,m,5,50\n", "speaker", "Max power", "a maximum is never used"),
        ("SKU,Brand,Model,Price,Depth (in)\n1,M,m,5,2.4\n", "speaker", "Depth (in)", "depth_mm (in)"),
        ("SKU,Model,Price\n1,m,5\n", "speaker", "maker", "no column has the maker"),
        ("SKU,Brand,Model,Price\n1,M,m,5\n", "speaker", "rms_w", "required"),
        ("SKU,Brand,Model,Price,Sensitivity\n1,M,m,5,90 dB\n", "speaker", "Sensitivity", "1 W or at 2.83 V"),
    ],
)
def test_columns_and_reasons_of_a_proposal(tmp_path: Path, text: str, family: str, field: str, says: str) -> None:
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    remarks = proposal_of(tmp_path / "list.csv", family).remarks
    assert any(remark.about == field and says in remark.says for remark in remarks)


@pytest.mark.parametrize(
    ("name", "text", "word"), [("list.json", "[]", "no list of parts"), ("list.csv", "\n\n", "no rows")]
)
def test_a_list_that_no_map_is_proposed_for(tmp_path: Path, name: str, text: str, word: str) -> None:
    (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(FileRefused, match=word):
        proposal_of(tmp_path / name)


OWN = "Part id,Maker,Model,Price,Shape,Size,Impedance (ohm),RMS (W),Depth (in),cutout_w_mm"


def test_a_proposal_knows_the_houses_own_headers(store: Store, tmp_path: Path, ask: Ask) -> None:
    (tmp_path / "speakers.csv").write_text(f"{OWN}\n1,M,m,5,round,165 mm,4,50,2 3/8,143\n", encoding="utf-8")
    proposal = proposal_of(tmp_path / "speakers.csv", "speaker")
    assert not [remark for remark in proposal.remarks if not remark.sure and remark.about != "family"]
    load_lists(store, [tmp_path / "speakers.csv"], map_=parse_map(json.dumps(proposal.map), "m.json"))
    assert ask("select depth_mm, cutout_w_mm, rms_w from speaker") == [(Decimal("60.325"), 143, 50)]


def test_a_proposal_is_not_sure_of_a_column_that_it_cannot_read(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(
        "SKU,Brand,Model,Price,VLT\n1,M,m,5,35 %\n2,M,m,5,dark\n3,M,m,5,20\n", encoding="utf-8"
    )
    remarks = proposal_of(tmp_path / "list.csv", "film").remarks
    assert {remark.about for remark in remarks if not remark.sure} == {"VLT"}
    assert any("1 of 3 rows cannot be read, such as 'dark'" in remark.says for remark in remarks)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("list.json", '[{"SKU": "1", "Brand": "M", "Model": "m", "Price": 5, "VLT": "35 %"}]'),
        ("list.jsonl", '{"SKU": "1", "Brand": "M", "Model": "m", "Price": 5, "VLT": 35}\n'),
        ("list.json", '{"items": [{"SKU": 1, "Brand": "M", "Model": "m", "Price": 5, '
         '"specs": [{"name": "VLT", "value": 35, "unit": "%"}]}]}'),
        ("list.json", '[{"SKU": "1", "Brand": "M", "Model": "m", "list": {"Price": 5}, "VLT": "35 %"}]'),
    ],
)  # fmt: skip
def test_records_with_other_headers_are_mapped(store: Store, tmp_path: Path, ask: Ask, name: str, text: str) -> None:
    """Past bug: a map was said to be for text and spreadsheets only."""
    (tmp_path / name).write_text(text, encoding="utf-8")
    load_lists(store, [tmp_path / name], map_=parse_map(json.dumps(proposal_of(tmp_path / name, "film").map), "m"))
    assert ask("select part_id, price, vlt_pct from film") == [("1", 5, 35)]


TIERS = [["Spring list"], [], ["Code", "Make", "Model", "Mounting (in.)", "", "Price", "Shape", "Size", "Ohm", "RMS"]]
BELOW = ["", "", "", "Hole", "Depth", "", "", "", "", ""]


@pytest.mark.parametrize("how", ["xlsx", "csv"])
def test_a_unit_in_the_upper_tier_of_a_header_counts(store: Store, tmp_path: Path, ask: Ask, how: str) -> None:
    row = ["1", "M", "m", "5 5/8", "2 3/8", "5", "round", "165 mm", "4", "50"]
    path = tmp_path / f"speakers.{how}"
    if how == "csv":
        path.write_text("\n".join(",".join(cells) for cells in [*TIERS, BELOW, row]) + "\n", encoding="utf-8")
    else:
        with Workbook(str(path)) as book:
            sheet = book.add_worksheet("L")
            for place, cells in enumerate([*TIERS, BELOW, row]):
                sheet.write_row(place, 0, cells)
            sheet.merge_range(2, 3, 2, 4, TIERS[2][3])
    made = parse_map(json.dumps(proposal_of(path, "speaker").map), "m")
    report = load_lists(store, [path], map_=made)
    assert ask("select cutout_w_mm, depth_mm from speaker") == [(Decimal("142.875"), Decimal("60.325"))]
    assert +report.skipped == {"title": 1, "blank": 1, "header": 2}


def test_a_figure_that_cannot_be_read_stays_unknown_and_is_noted(store: Store, tmp_path: Path, ask: Ask) -> None:
    (tmp_path / "list.csv").write_text("SKU,Brand,Model,Price,VLT\n1,M,m,5,35 %\n2,M,m,5,dark\n3,M,m,free,5\n", "utf-8")
    made = parse_map(json.dumps(proposal_of(tmp_path / "list.csv", "film").map), "m")
    report = load_lists(store, [tmp_path / "list.csv"], map_=made)
    assert ask("select part_id, vlt_pct, notes from film order by 1") == [
        ("1", 35, None),
        ("2", None, "vlt_pct not known: the list says dark"),
    ]
    assert [(row.line, row.faults[0].column) for row in report.noted] == [(3, "vlt_pct")]
    assert [row.line for row in report.problems] == [4]
    assert load_lists(store, [tmp_path / "list.csv"], map_=made).changes_nothing


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("* prices are each,,,,", "footnote"),
        ("# made by a program", "comment"),
        (",,Prices net ex works until May,,", "note"),
        ("Total,,,12,", "total"),
        ("-- continued --", "continuation"),
        ("2,,,,", None),
        ("2,M,,,", None),
    ],
)
def test_a_line_that_is_no_part_is_counted_as_what_it_is(
    store: Store, tmp_path: Path, line: str, what: str | None
) -> None:
    (tmp_path / "list.csv").write_text(f"part_id,maker,model,price,vlt_pct\n1,M,m,5,35\n{line}\n", encoding="utf-8")
    report = load_lists(store, [tmp_path / "list.csv"], "film")
    assert [row.line for row in report.problems] == ([] if what else [3])
    assert +report.skipped == {"header": 1} | ({what: 1} if what else {})
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()


@pytest.mark.parametrize(
    ("header", "cell", "field"),
    [
        ("Max power", "120", None),
        ("Max power", "30 W", "rms_w"),
        ("Dimensions (WxHxD)", "141 x 196 x 42", None),
        ("Dimensions (WxHxD)", "141 x 196 x 142 mm", "depth_mm"),
    ],
)
def test_a_figure_stated_twice_is_compared(
    store: Store, tmp_path: Path, header: str, cell: str, field: str | None
) -> None:
    """Past bug: a depth of 27 beside 141 x 196 x 42 (WxHxD) came in without a word."""
    heads = f"SKU,Brand,Model,Price,Shape,Size,Ohm,RMS (W),Depth mm,{header}"
    rows = f"{heads}\n1,M,m,5,round,165 mm,4,50,40,{cell}\n"
    (tmp_path / "list.csv").write_text(rows, encoding="utf-8")
    made = parse_map(json.dumps(proposal_of(tmp_path / "list.csv", "speaker").map), "m")
    report = load_lists(store, [tmp_path / "list.csv"], map_=made)
    found = [fault.column for row in report.problems for fault in row.faults]
    assert found == ([field] if field else [])


@pytest.mark.parametrize(
    ("header", "cell", "loads"),
    [
        ("Price (EUR)", "49.90", True),
        ("Price", "49.90", True),
        ("Dealer EUR", "49.90", True),
        ("Price USD", "49.90", False),
        ("Price (£)", "49.90", False),
        ("Price (EUR)", "$ 49.90", False),
    ],
)
def test_the_currency_of_a_header_counts_for_its_bare_amounts(
    store: Store, tmp_path: Path, header: str, cell: str, loads: bool
) -> None:
    (tmp_path / "list.csv").write_text(f"SKU,Brand,Model,{header},VLT\n1,M,m,{cell},35\n", encoding="utf-8")
    made = parse_map(json.dumps(proposal_of(tmp_path / "list.csv", "film").map), "m")
    report = load_lists(store, [tmp_path / "list.csv"], map_=made)
    assert (report.new, [row.faults[0].column for row in report.problems]) == ((1, []) if loads else (0, ["price"]))
