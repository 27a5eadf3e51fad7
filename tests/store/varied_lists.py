"""Lists of eight styles, written from the same invented parts: the catalog must have the figures that a list states.

Each style is a function that writes a list into a folder, and returns the figures that it states: by part and field.
"""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from xlsxwriter import Workbook  # type: ignore[import-untyped]

from tests.open_document import cell, row, write_ods

Part = dict[str, Any]
Truth = dict[str, dict[str, object]]


def parts(table: str) -> list[Part]:
    """Parts of a table of texts; whole numbers become numbers."""
    names, *rows = [[text.strip() for text in line.split("|")] for line in table.splitlines()]
    return [
        {name: int(text) if text.isdigit() else text for name, text in zip(names, texts, strict=True)} for texts in rows
    ]


SPEAKERS = parts("""\
id  | maker       | name        | size | hole | depth | outer | bolts | ohm | rms | db | price   | pack | stock | kg
K10 | Ostrava Ton | Wren 10     | 100  | 94   | 43    | 114   | 107   | 4   | 30  | 88 | 39.90   | 2    | 12    | 1.1
K13 | Ostrava Ton | Wren 13     | 130  | 117  | 51    | 134   | 126   | 4   | 40  | 89 | 52.00   | 2    | 4     | 1.4
K16 | Ostrava Ton | Wren 16     | 165  | 143  | 62    | 166   | 156   | 4   | 60  | 90 | 64.50   | 2    | 0     | 1.9
L16 | Linnetworks | Finch 16 HD | 165  | 142  | 69    | 164   | 155   | 3   | 90  | 91 | 1860.00 | 1    | 3     | 2.3
L20 | Linnetworks | Finch 20    | 200  | 180  | 78    | 208   | 195   | 4   | 110 | 92 | 149.00  | 1    | 1     | 3.2
""")
for one in SPEAKERS:
    one["peak"] = 3 * one["rms"]
SUBWOOFERS = parts("""\
id  | maker       | name       | inch | hole | depth | coils | ohm | rms | fs   | qts  | vas  | price  | stock
S08 | Linnetworks | Bittern 8  | 8    | 182  | 96    | 2     | 2   | 200 | 38.5 | 0.49 | 14.2 | 119.00 | 2
S10 | Linnetworks | Bittern 10 | 10   | 231  | 128   | 2     | 4   | 300 | 31.2 | 0.46 | 34.8 | 159.00 | 5
S12 | Ostrava Ton | Heron 12   | 12   | 279  | 147   | 1     | 4   | 450 | 26.4 | 0.51 | 61.5 | 205.50 | 1""")
AMPLIFIERS = parts("""\
id  | maker    | name   | channels | w4 | w2  | bridged | w   | h  | d   | fuse | price  | stock
A41 | Quaywatt | Q 4.60 | 4        | 60 | 92  | 184     | 240 | 51 | 165 | 35   | 189.00 | 3
A21 | Quaywatt | Q 2.90 | 2        | 90 | 140 | 280     | 205 | 51 | 165 | 30   | 139.00 | 2""")
FIELDS = {
    "speaker": {"hole": "cutout_w_mm", "depth": "depth_mm", "outer": "flange_w_mm", "bolts": "bolt_circle_mm"}
    | {"ohm": "impedance_ohm", "rms": "rms_w", "db": "sens_db", "stock": "stock", "pack": "pack_of", "price": "price"},
    "subwoofer": {"inch": "size_in", "hole": "cutout_mm", "depth": "depth_mm", "coils": "coils", "ohm": "coil_ohm"}
    | {"rms": "rms_w", "fs": "fs_hz", "qts": "qts", "vas": "vas_l", "stock": "stock", "price": "price"},
    "amplifier": {
        "channels": "full_channels",
        "w4": "full_w_4ohm",
        "w2": "full_w_2ohm",
        "bridged": "full_bridged_w_4ohm",
    }
    | {"w": "w_mm", "h": "h_mm", "d": "d_mm", "fuse": "fuse_a", "stock": "stock", "price": "price"},
}
"""The field of the catalog for each figure of a part."""


def stated(family: str, part: Part, *left_out: str, **more: object) -> dict[str, object]:
    """Return the fields of a part whose list leaves some figures out."""
    figures = {field: Decimal(part[name]) for name, field in FIELDS[family].items() if name not in left_out}
    return figures | {"maker": part["maker"]} | ({"shape": "round"} if family == "speaker" else {}) | more


def texts(form: str, part: Part, **more: object) -> list[str]:
    """Return the cells of a part's row."""
    return form.format_map(part | more).split("|")


def comma(number: object) -> str:
    return str(number).replace(".", ",")


def unit(part: Part, pair: str, single: str) -> str:
    return pair if part.get("pack") == 2 else single


def save(path: Path, lines: list[str]) -> Path:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def sixteenths(mm: int) -> tuple[str, Decimal]:
    """Return a length in inches as a text, and exactly in millimeters."""
    count = round(Fraction(mm) / Fraction("25.4") * 16)
    whole, rest = divmod(Fraction(count, 16), 1)
    text = f"{whole} {rest}" if rest and whole else f"{rest or whole}"
    return text, Decimal(count) * Decimal("1.5875")


def american(folder: Path) -> tuple[Path, Truth]:
    """An old spreadsheet: a title block, a header of two rows with joined cells, bare fractions, a row struck out."""
    import xlwt  # type: ignore[import-untyped]

    book, path, truth = xlwt.Workbook(), folder / "schedule.xls", {}
    sheet = book.add_sheet("Speakers")
    plain, struck = xlwt.easyxf(), xlwt.easyxf("font: struck_out on")
    dollars = xlwt.easyxf(num_format_str='"$"#,##0.00')
    sheet.write_merge(0, 0, 0, 9, "PELICAN CROSSING DISTRIBUTION - dealer schedule, effective January")
    sheet.write(1, 0, "All dimensions nominal. Prices subject to change.")
    for place, text in enumerate(["Part No.", "Brand", "Description"]):
        sheet.write_merge(3, 4, place, place, text)
    sheet.write_merge(3, 3, 3, 5, "Mounting (in.)")
    sheet.write_merge(3, 3, 6, 7, "Power (W)")
    for place, text in enumerate(["Cutout Dia.", "Depth", "Bolt Circle", "RMS", "Peak"], start=3):
        sheet.write(4, place, text)
    for place, text in enumerate(["Imp.", "Sens. (1W/1m)", "MSRP", "Dealer Cost", "Sold As", "Qty on Hand"], start=8):
        sheet.write_merge(3, 4, place, place, text)
    for line, part in enumerate([*SPEAKERS, {**SPEAKERS[0], "id": "K09"}], start=5):
        listed = part["id"] != "K09"
        lengths = {name: sixteenths(part[name]) for name in ("hole", "depth", "bolts")}
        inches = {100: '4"', 130: '5 1/4"', 165: '6 1/2"', 200: '8"'}[part["size"]]
        price = float(part["price"])
        cells = [part["id"], part["maker"], f"{part['name']} coax {inches}", *(text for text, _ in lengths.values())]
        cells += [part["rms"], part["peak"], f"{part['ohm']} ohm", part["db"], price * 2, price]
        cells += [unit(part, "pair", "each"), part["stock"]]
        for place, content in enumerate(cells):
            style = dollars if place in (10, 11) else plain
            sheet.write(line, place, content, style if listed else struck)
        if listed:
            mm = {FIELDS["speaker"][name]: value for name, (_, value) in lengths.items()}
            more = mm | {"size": inches, "kind": "coaxial", "sens_basis": "1w"}
            truth[part["id"]] = stated("speaker", part, "outer", **more)
    book.save(str(path))
    return path, truth


def french(folder: Path) -> tuple[Path, Truth]:
    """An OpenDocument sheet in French with sub-headings, a comma for decimals, and prices with their sign."""
    heads = (
        "Réf.|Marque|Désignation|Ø découpe (mm)|Prof. encastrement (mm)|Impédance|"
        "Puissance RMS / max|Sensibilité|Vendu par|Prix HT|Stock|Poids"
    )
    form = (
        "{id}|{maker}|{name} coaxial {size} mm|{hole}|{depth}|{ohm} Ω|"
        "{rms} / {peak} W|{db} dB|{unit}|{net} €|{stock}|{weight} kg"
    )
    lines = [["Tarif revendeur HT - Atelier des Dunes"], [], heads.split("|"), ["Haut-parleurs"]]
    truth: Truth = {}
    for part in SPEAKERS:
        net = comma(f"{Decimal(part['price']):,.2f}".replace(",", " "))
        lines.append(texts(form, part, unit=unit(part, "la paire", "pièce"), net=net, weight=comma(part["kg"])))
        more = {"size": f"{part['size']} mm", "mass_kg": Decimal(part["kg"])}
        truth[part["id"]] = stated("speaker", part, "outer", "bolts", **more)
    lines += [
        ["Câbles"],
        ["C20", "Ostrava Ton", "Câble d'alimentation 20 mm2 OFC", *[""] * 5, "pièce", "31,50 €", "4", "n.c."],
    ]
    truth["C20"] = {"area_mm2": Decimal(20), "conductor": "copper", "price": Decimal("31.50"), "stock": Decimal(4)}
    return write_ods(folder / "tarif.ods", {"Tarif": [row(*map(cell, line)) for line in lines]}), truth


def czech(folder: Path) -> tuple[Path, Truth]:
    """A tab-separated export in Windows-1250: Czech headers, sub-headings between marks, prices such as 1 860,-."""
    heads = (
        "Kód|Výrobce|Název|Otvor (mm)|Hloubka (mm)|Vnější průměr|Rozteč děr|Impedance|"
        "Výkon RMS|Max. výkon|Citlivost|Balení|Cena bez DPH|Skladem"
    )
    form = (
        "{id}|{maker}|{name} koaxiální {size} mm|{hole},0|{depth}|{outer} mm|{bolts} mm|{ohm} Ohm|"
        "{rms} W|{peak} W|{db} dB|{unit}|{net} Kč|{stock}"
    )
    bass = '{id}|{maker}|{name} {inch}"|{hole},0|{depth}|||{coil}|{rms} W|neuvedeno||ks|{net} Kč|{stock}'
    lines, truth = ["Ceník - Modrá řeka s.r.o., platný od ledna", "", heads, "=== Reproduktory ==="], {}
    for part in SPEAKERS:
        price = Decimal(part["price"])
        net = f"{price:,.0f},-".replace(",", " ", 1) if price > 999 else comma(price)
        lines.append(form.format_map(part | {"unit": unit(part, "pár", "ks"), "net": net}))
        truth[part["id"]] = stated("speaker", part, size=f"{part['size']} mm")
    lines.append("=== Subwoofery ===")
    for part in SUBWOOFERS:
        coil = f"{part['coils']} x {part['ohm']} Ohm" if part["coils"] > 1 else f"{part['ohm']} Ohm"
        lines.append(bass.format_map(part | {"coil": coil, "net": comma(part["price"])}))
        truth[part["id"]] = stated("subwoofer", part, "fs", "qts", "vas")
    lines += ["", "Ceny jsou uvedeny bez DPH a platí do vyprodání zásob."]
    (folder / "cenik.txt").write_bytes("\r\n".join(lines).replace("|", "\t").encode("cp1250"))
    return folder / "cenik.txt", truth


def british(folder: Path) -> tuple[Path, Truth]:
    """Pipes with comments: the family is a word of the description; trade and retail prices, boxes of two."""
    form = (
        "{id}|{maker}|{name} loudspeaker {size} mm|{hole} mm|{depth} mm|{outer} mm|{ohm} ohms|"
        "{rms} W|{peak} W|{db} dB|{unit}|£{net:,.2f}|£{retail:,.2f}|{stock}"
    )
    bass = (
        "{id}|{maker}|{name} subwoofer {inch} inch|{hole} mm|{depth} mm||{coil}|"
        "{rms} W|tbc||single|£{price}|POA|{stock}"
    )
    lines = [
        "# Saltings & Sons trade book",
        "# comments begin with a hash; withdrawn lines are not listed",
        "Stock code|Make|Description|Cut-out dia|Mtg depth|Overall dia|Nom. imp.|"
        "RMS handling|Peak|SPL|Pack|Trade ex VAT|RRP inc VAT|Free stock",
    ]
    truth: Truth = {}
    for part in SPEAKERS:
        net = Decimal(part["price"])
        lines.append(form.format_map(part | {"unit": unit(part, "box of 2", "single"), "net": net, "retail": net * 2}))
        truth[part["id"]] = stated("speaker", part, "bolts", size=f"{part['size']} mm")
    lines.append("# bass")
    for part in SUBWOOFERS:
        coil = f"dual {part['ohm']} ohm" if part["coils"] > 1 else f"{part['ohm']} ohms"
        lines.append(bass.format_map(part | {"coil": coil}))
        truth[part["id"]] = stated("subwoofer", part, "fs", "qts", "vas")
    return save(folder / "trade-book.csv", lines), truth


def cryptic(folder: Path) -> tuple[Path, Truth]:
    """A spreadsheet whose headers are abbreviations; units are in the number formats alone."""
    path, truth = folder / "lautsprecher-export.xlsx", {}
    heads = ["ID", "HERST", "BEZ", "CO", "MD", "OD", "BC", "Z", "PNOM", "PMAX", "SPL", "VPE", "EK", "QOH"]
    names = ["hole", "depth", "outer", "bolts", "ohm", "rms", "peak", "db"]
    forms = ['0.0" mm"', '0.0" mm"', '0" mm"', '0" mm"', '0" Ω"', '0" W"', '0" W"', '0" dB"']
    with Workbook(str(path)) as book:
        sheet = book.add_worksheet("EXPORT")
        sheet.write_row(0, 0, heads)
        for line, part in enumerate(SPEAKERS, start=1):
            sheet.write_row(line, 0, [part["id"], part["maker"], f"{part['name']} Koax {part['size']} mm"])
            for place, (name, form) in enumerate(zip(names, forms, strict=True), start=3):
                sheet.write_number(line, place, part[name], book.add_format({"num_format": form}))
            sheet.write(line, 11, unit(part, "Paar", "Stk"))
            sheet.write_number(line, 12, float(part["price"]), book.add_format({"num_format": '#,##0.00" €"'}))
            sheet.write_number(line, 13, part["stock"])
            truth[part["id"]] = stated("speaker", part, size=f"{part['size']} mm", kind="coaxial")
    return path, truth


def feed(folder: Path) -> tuple[Path, Truth]:
    """A feed: groups of parts, prices with their currency, figures as lists of name, value and unit."""

    def item(part: Part, *specs: tuple[object, ...], **more: object) -> dict[str, object]:
        price = {"amount": float(part["price"]), "currency": "EUR"}
        named = [dict(zip(("name", "value", "unit"), spec, strict=False)) for spec in specs]
        common = {"sku": part["id"], "brand": part["maker"], "title": part["name"], "price": price}
        return common | more | {"stock": part["stock"], "specs": named}

    speakers = [
        item(
            part,
            ("Cut-out diameter", part["hole"], "mm"),
            ("Mounting depth", str(Decimal(part["depth"]) / 10), "cm"),
            ("Impedance", part["ohm"], "Ω"),
            ("RMS power", part["rms"], "W"),
            ("Peak power", part["peak"], "W"),
            ("Sensitivity", part["db"], "dB"),
            ("Nominal size", f"{part['size']} mm", None),
            unit=unit(part, "pair", "piece"),
        )
        for part in SPEAKERS
    ]
    amplifiers = [
        item(
            part,
            ("Channels", part["channels"]),
            ("RMS per channel 4 ohm", part["w4"], "W"),
            ("RMS per channel 2 ohm", part["w2"], "W"),
            ("Bridged RMS 4 ohm", part["bridged"], "W"),
            ("Dimensions (W x H x D)", f"{part['w']} x {part['h']} x {part['d']}", "mm"),
            ("Fuse", part["fuse"], "A"),
        )
        for part in AMPLIFIERS
    ]
    truth = {part["id"]: stated("speaker", part, "outer", "bolts", size=f"{part['size']} mm") for part in SPEAKERS} | {
        part["id"]: stated("amplifier", part) for part in AMPLIFIERS
    }
    groups = [{"name": "Speakers", "items": speakers}, {"name": "Amplifiers", "items": amplifiers}]
    data = {"supplier": "Harbour Feed", "catalog": {"groups": groups}}
    (folder / "feed.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
    return folder / "feed.json", truth


def polish(folder: Path) -> tuple[Path, Truth]:
    """Semicolons and decimal commas in Polish, with a column of kinds and a row of units below the header."""
    lines = [
        "Indeks;Producent;Nazwa;Rodzaj;Otwór montażowy;Głębokość;Średnica zewnętrzna;"
        "Impedancja;Moc RMS;Moc maks.;Skuteczność;J.m.;Cena netto;Stan",
        ";;;;mm;mm;mm;Ω;W;W;dB;;zł;",
    ]
    form = (
        "{id};{maker};{name} {size} mm;Głośniki;{hole},0;{depth},0;{outer};"
        "{ohm};{rms};{peak};{db},0;{unit};{net};{stock}"
    )
    bare = "{id};{maker};{name};Wzmacniacze;;;;;;;;{unit};{net};{stock}"
    lines += [
        kind.format_map(part | {"unit": unit(part, "para", "szt."), "net": comma(part["price"])})
        for kind, part in [*((form, part) for part in SPEAKERS), *((bare, part) for part in AMPLIFIERS)]
    ]
    truth = {part["id"]: stated("speaker", part, "bolts", size=f"{part['size']} mm") for part in SPEAKERS}
    return save(folder / "cennik.csv", lines), truth


def italian(folder: Path) -> tuple[Path, Truth]:
    """Every cell in quotes, with commas between and within them."""
    heads = (
        "Codice|Marca|Modello|Canali|RMS per canale 4 ohm|RMS per canale 2 ohm|Ponte RMS 4 ohm|"
        "Dimensioni (L x A x P) mm|Fusibile|Classe|Prezzo netto|Giacenza"
    )
    form = "{id}|{maker}|{name}|{channels}|{w4} W|{w2} W|{bridged} W|{w} x {h} x {d}|{fuse} A|D|€ {net}|{stock}"
    rows = [heads.split("|"), *(texts(form, part, net=comma(part["price"])) for part in AMPLIFIERS)]
    path = save(folder / "listino amplificatori.csv", [",".join(f'"{text}"' for text in line) for line in rows])
    return path, {part["id"]: stated("amplifier", part, **{"class": "d"}) for part in AMPLIFIERS}


STYLES = (american, french, czech, british, cryptic, feed, polish, italian)
