"""Lists of eight styles, written from the same invented parts: what a list states has to stand in the catalog.

Each style is a function that writes a list into a folder, and gives the figures that it states: by part and field.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from xlsxwriter import Workbook  # type: ignore[import-untyped]

from tests.open_document import cell, row, write_ods

Part = dict[str, Any]
Truth = dict[str, dict[str, object]]

SPEAKERS: list[Part] = [
    {
        "id": "K10",
        "maker": "Ostrava Ton",
        "name": "Wren 10",
        "size": 100,
        "hole": 94,
        "depth": 43,
        "outer": 114,
        "bolts": 107,
        "ohm": 4,
        "rms": 30,
        "peak": 90,
        "db": 88,
        "price": "39.90",
        "pack": 2,
        "stock": 12,
        "kg": "1.1",
    },
    {
        "id": "K13",
        "maker": "Ostrava Ton",
        "name": "Wren 13",
        "size": 130,
        "hole": 117,
        "depth": 51,
        "outer": 134,
        "bolts": 126,
        "ohm": 4,
        "rms": 40,
        "peak": 120,
        "db": 89,
        "price": "52.00",
        "pack": 2,
        "stock": 4,
        "kg": "1.4",
    },
    {
        "id": "K16",
        "maker": "Ostrava Ton",
        "name": "Wren 16",
        "size": 165,
        "hole": 143,
        "depth": 62,
        "outer": 166,
        "bolts": 156,
        "ohm": 4,
        "rms": 60,
        "peak": 180,
        "db": 90,
        "price": "64.50",
        "pack": 2,
        "stock": 0,
        "kg": "1.9",
    },
    {
        "id": "L16",
        "maker": "Linnetworks",
        "name": "Finch 16 HD",
        "size": 165,
        "hole": 142,
        "depth": 69,
        "outer": 164,
        "bolts": 155,
        "ohm": 3,
        "rms": 90,
        "peak": 270,
        "db": 91,
        "price": "1860.00",
        "pack": 1,
        "stock": 3,
        "kg": "2.3",
    },
    {
        "id": "L20",
        "maker": "Linnetworks",
        "name": "Finch 20",
        "size": 200,
        "hole": 180,
        "depth": 78,
        "outer": 208,
        "bolts": 195,
        "ohm": 4,
        "rms": 110,
        "peak": 330,
        "db": 92,
        "price": "149.00",
        "pack": 1,
        "stock": 1,
        "kg": "3.2",
    },
]
SUBWOOFERS: list[Part] = [
    {
        "id": "S08",
        "maker": "Linnetworks",
        "name": "Bittern 8",
        "inch": 8,
        "hole": 182,
        "depth": 96,
        "coils": 2,
        "ohm": 2,
        "rms": 200,
        "fs": "38.5",
        "qts": "0.49",
        "vas": "14.2",
        "price": "119.00",
        "stock": 2,
    },
    {
        "id": "S10",
        "maker": "Linnetworks",
        "name": "Bittern 10",
        "inch": 10,
        "hole": 231,
        "depth": 128,
        "coils": 2,
        "ohm": 4,
        "rms": 300,
        "fs": "31.2",
        "qts": "0.46",
        "vas": "34.8",
        "price": "159.00",
        "stock": 5,
    },
    {
        "id": "S12",
        "maker": "Ostrava Ton",
        "name": "Heron 12",
        "inch": 12,
        "hole": 279,
        "depth": 147,
        "coils": 1,
        "ohm": 4,
        "rms": 450,
        "fs": "26.4",
        "qts": "0.51",
        "vas": "61.5",
        "price": "205.50",
        "stock": 1,
    },
]
AMPLIFIERS: list[Part] = [
    {
        "id": "A41",
        "maker": "Quaywatt",
        "name": "Q 4.60",
        "channels": 4,
        "w4": 60,
        "w2": 92,
        "bridged": 184,
        "w": 240,
        "h": 51,
        "d": 165,
        "fuse": 35,
        "price": "189.00",
        "stock": 3,
    },
    {
        "id": "A21",
        "maker": "Quaywatt",
        "name": "Q 2.90",
        "channels": 2,
        "w4": 90,
        "w2": 140,
        "bridged": 280,
        "w": 205,
        "h": 51,
        "d": 165,
        "fuse": 30,
        "price": "139.00",
        "stock": 2,
    },
]


@dataclass(frozen=True)
class Style:
    """One list: how it is written, and what was answered if it asks."""

    name: str
    write: Callable[[Path], tuple[Path, Truth]]
    answers: dict[str, str]
    """By header, what somebody answers."""


def sixteenths(mm: int) -> tuple[str, Decimal]:
    count = round(Fraction(mm) / Fraction("25.4") * 16)
    whole, rest = divmod(Fraction(count, 16), 1)
    text = f"{whole} {rest}" if rest and whole else f"{rest or whole}"
    return text, Decimal(count) * Decimal("1.5875")


def speaker_truth(part: Part, **more: object) -> dict[str, object]:
    names = {
        "hole": "cutout_w_mm",
        "depth": "depth_mm",
        "outer": "flange_w_mm",
        "bolts": "bolt_circle_mm",
        "ohm": "impedance_ohm",
        "rms": "rms_w",
        "db": "sens_db",
        "stock": "stock",
        "pack": "pack_of",
    }
    found = {field: Decimal(part[name]) for name, field in names.items()}
    return found | {"price": Decimal(part["price"]), "maker": part["maker"], "shape": "round"} | more


def sub_truth(part: Part, **more: object) -> dict[str, object]:
    names = {
        "inch": "size_in",
        "hole": "cutout_mm",
        "depth": "depth_mm",
        "coils": "coils",
        "ohm": "coil_ohm",
        "rms": "rms_w",
        "fs": "fs_hz",
        "qts": "qts",
        "vas": "vas_l",
        "stock": "stock",
        "price": "price",
    }
    return {field: Decimal(part[name]) for name, field in names.items()} | {"maker": part["maker"]} | more


def amp_truth(part: Part, **more: object) -> dict[str, object]:
    names = {
        "channels": "full_channels",
        "w4": "full_w_4ohm",
        "w2": "full_w_2ohm",
        "bridged": "full_bridged_w_4ohm",
        "w": "w_mm",
        "h": "h_mm",
        "d": "d_mm",
        "fuse": "fuse_a",
        "stock": "stock",
        "price": "price",
    }
    return {field: Decimal(part[name]) for name, field in names.items()} | {"maker": part["maker"]} | more


def american(folder: Path) -> tuple[Path, Truth]:
    """An old spreadsheet: a title block, a header of two rows with joined cells, bare fractions, a row struck out."""
    import xlwt  # type: ignore[import-untyped]

    book, path = xlwt.Workbook(), folder / "schedule.xls"
    sheet, truth = book.add_sheet("Speakers"), {}
    struck = xlwt.easyxf("font: struck_out on")
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
        style = struck if part["id"] == "K09" else xlwt.easyxf()
        lengths = [sixteenths(part[name]) for name in ("hole", "depth", "bolts")]
        inches = {100: '4"', 130: '5 1/4"', 165: '6 1/2"', 200: '8"'}[part["size"]]
        texts = [part["id"], part["maker"], f"{part['name']} coax {inches}", *(text for text, _ in lengths)]
        for place, text in enumerate(texts):
            sheet.write(line, place, text, style)
        for place, name in ((6, "rms"), (7, "peak")):
            sheet.write(line, place, part[name], style)
        sheet.write(line, 8, f"{part['ohm']} ohm", style)
        sheet.write(line, 9, part["db"], style)
        sheet.write(line, 10, float(part["price"]) * 2, struck if style is struck else dollars)
        sheet.write(line, 11, float(part["price"]), struck if style is struck else dollars)
        sheet.write(line, 12, "pair" if part["pack"] == 2 else "each", style)
        sheet.write(line, 13, part["stock"], style)
        if part["id"] != "K09":
            mm = {
                name: value
                for name, (_, value) in zip(("cutout_w_mm", "depth_mm", "bolt_circle_mm"), lengths, strict=True)
            }
            truth[part["id"]] = speaker_truth(part, **mm, size=inches, kind="coaxial", sens_basis="1w")
            del truth[part["id"]]["flange_w_mm"]
    book.save(str(path))
    return path, truth


def french(folder: Path) -> tuple[Path, Truth]:
    """An OpenDocument sheet in French with sub-headings, a comma for decimals, and prices with their sign."""
    rows = [row(cell("Tarif revendeur HT - Atelier des Dunes")), row()]
    heads = [
        *["Réf.", "Marque", "Désignation", "Ø découpe (mm)", "Prof. encastrement (mm)", "Impédance"],
        *["Puissance RMS / max", "Sensibilité", "Vendu par", "Prix HT", "Stock", "Poids"],
    ]
    rows += [row(*map(cell, heads)), row(cell("Haut-parleurs"))]
    truth: Truth = {}
    for part in SPEAKERS:
        price = f"{Decimal(part['price']):,.2f}".replace(",", " ").replace(".", ",") + " €"
        sold = "la paire" if part["pack"] == 2 else "pièce"
        texts = [
            part["id"],
            part["maker"],
            f"{part['name']} coaxial {part['size']} mm",
            str(part["hole"]),
            str(part["depth"]),
            f"{part['ohm']} Ω",
            f"{part['rms']} / {part['peak']} W",
            f"{part['db']} dB",
            sold,
            price,
            str(part["stock"]),
            f"{part['kg']} kg".replace(".", ","),
        ]
        rows.append(row(*map(cell, texts)))
        truth[part["id"]] = speaker_truth(part, size=f"{part['size']} mm", mass_kg=Decimal(part["kg"]))
        for name in ("flange_w_mm", "bolt_circle_mm"):
            del truth[part["id"]][name]
    rows += [
        row(cell("Câbles")),
        row(
            *map(
                cell,
                [
                    *["C20", "Ostrava Ton", "Câble d'alimentation 20 mm2 OFC", "", "", "", "", "", "pièce"],
                    *["31,50 €", "4", "n.c."],
                ],
            )
        ),
    ]
    truth["C20"] = {"area_mm2": Decimal(20), "conductor": "copper", "price": Decimal("31.50"), "stock": Decimal(4)}
    write_ods(folder / "tarif.ods", {"Tarif": rows})
    return folder / "tarif.ods", truth


def czech(folder: Path) -> tuple[Path, Truth]:
    """A tab-separated export in Windows-1250: Czech headers, sub-headings between marks, prices such as 1 860,-."""
    heads = [
        *["Kód", "Výrobce", "Název", "Otvor (mm)", "Hloubka (mm)", "Vnější průměr", "Rozteč děr", "Impedance"],
        *["Výkon RMS", "Max. výkon", "Citlivost", "Balení", "Cena bez DPH", "Skladem"],
    ]
    lines, truth = ["Ceník - Modrá řeka s.r.o., platný od ledna", "", "\t".join(heads), "=== Reproduktory ==="], {}
    for part in SPEAKERS:
        price = Decimal(part["price"])
        shown = f"{price:,.0f},- Kč".replace(",", " ", 1) if price > 999 else f"{price:.2f} Kč".replace(".", ",")
        shown = shown.replace(" ,-", ",-") if price > 999 else shown
        texts = [
            part["id"],
            part["maker"],
            f"{part['name']} koaxiální {part['size']} mm",
            f"{part['hole']},0",
            str(part["depth"]),
            f"{part['outer']} mm",
            f"{part['bolts']} mm",
            f"{part['ohm']} Ω",
            f"{part['rms']} W",
            f"{part['peak']} W",
            f"{part['db']} dB",
            "pár" if part["pack"] == 2 else "ks",
            shown,
            str(part["stock"]),
        ]
        lines.append("\t".join(texts))
        truth[part["id"]] = speaker_truth(part, size=f"{part['size']} mm")
    lines += ["=== Subwoofery ===", *_czech_subs(truth), "", "Ceny jsou uvedeny bez DPH a platí do vyprodání zásob."]
    (folder / "cenik.txt").write_bytes("\r\n".join(lines).replace("Ω", "Ohm").encode("cp1250"))
    return folder / "cenik.txt", truth


def _czech_subs(truth: Truth) -> list[str]:
    found = []
    for part in SUBWOOFERS:
        ohm = f"{part['coils']} x {part['ohm']} Ohm" if part["coils"] > 1 else f"{part['ohm']} Ohm"
        price = f"{Decimal(part['price']):.2f} Kč".replace(".", ",")
        texts = [
            part["id"],
            part["maker"],
            f'{part["name"]} {part["inch"]}"',
            f"{part['hole']},0",
            str(part["depth"]),
            "",
            "",
            ohm,
            f"{part['rms']} W",
            "neuvedeno",
            "",
            "ks",
            price,
            str(part["stock"]),
        ]
        found.append("\t".join(texts))
        truth[part["id"]] = sub_truth(part)
        for name in ("fs_hz", "qts", "vas_l"):
            del truth[part["id"]][name]
    return found


def british(folder: Path) -> tuple[Path, Truth]:
    """Pipes with comments: the family is a word of the description; trade and retail prices, boxes of two."""
    heads = [
        *["Stock code", "Make", "Description", "Cut-out dia", "Mtg depth", "Overall dia", "Nom. imp."],
        *["RMS handling", "Peak", "SPL", "Pack", "Trade ex VAT", "RRP inc VAT", "Free stock"],
    ]
    lines = [
        "# Saltings & Sons trade book",
        "# comments begin with a hash; withdrawn lines are not listed",
        "|".join(heads),
    ]
    truth: Truth = {}
    for part in SPEAKERS:
        pack = "box of 2" if part["pack"] == 2 else "single"
        price, retail = f"£{Decimal(part['price']):,.2f}", f"£{Decimal(part['price']) * 2:,.2f}"
        texts = [
            part["id"],
            part["maker"],
            f"{part['name']} loudspeaker {part['size']} mm",
            f"{part['hole']} mm",
            f"{part['depth']} mm",
            f"{part['outer']} mm",
            f"{part['ohm']} ohms",
            f"{part['rms']} W",
            f"{part['peak']} W",
            f"{part['db']} dB",
            pack,
            price,
            retail,
            str(part["stock"]),
        ]
        lines.append("|".join(texts))
        truth[part["id"]] = speaker_truth(part, size=f"{part['size']} mm")
        del truth[part["id"]]["bolt_circle_mm"]
    lines.append("# bass")
    for part in SUBWOOFERS:
        ohm = f"dual {part['ohm']} ohm" if part["coils"] > 1 else f"{part['ohm']} ohms"
        texts = [
            part["id"],
            part["maker"],
            f"{part['name']} subwoofer {part['inch']} inch",
            f"{part['hole']} mm",
            f"{part['depth']} mm",
            "",
            ohm,
            f"{part['rms']} W",
            "tbc",
            "",
            "single",
            f"£{part['price']}",
            "POA",
            str(part["stock"]),
        ]
        lines.append("|".join(texts))
        truth[part["id"]] = sub_truth(part)
        for name in ("fs_hz", "qts", "vas_l"):
            del truth[part["id"]][name]
    (folder / "trade-book.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder / "trade-book.csv", truth


def cryptic(folder: Path) -> tuple[Path, Truth]:
    path, truth = folder / "lautsprecher-export.xlsx", {}
    heads = ["ID", "HERST", "BEZ", "CO", "MD", "OD", "BC", "Z", "PNOM", "PMAX", "SPL", "VPE", "EK", "QOH"]
    forms = {
        "CO": '0.0" mm"',
        "MD": '0.0" mm"',
        "OD": '0" mm"',
        "BC": '0" mm"',
        "Z": '0" Ω"',
        "PNOM": '0" W"',
        "PMAX": '0" W"',
        "SPL": '0" dB"',
        "EK": '#,##0.00" €"',
    }
    keys = {
        "CO": "hole",
        "MD": "depth",
        "OD": "outer",
        "BC": "bolts",
        "Z": "ohm",
        "PNOM": "rms",
        "PMAX": "peak",
        "SPL": "db",
    }
    with Workbook(str(path)) as book:
        sheet = book.add_worksheet("EXPORT")
        sheet.write_row(0, 0, heads)
        for line, part in enumerate(SPEAKERS, start=1):
            sheet.write_row(line, 0, [part["id"], part["maker"], f"{part['name']} Koax {part['size']} mm"])
            for place, head in enumerate(heads[3:], start=3):
                if head in keys:
                    sheet.write_number(line, place, part[keys[head]], book.add_format({"num_format": forms[head]}))
            sheet.write(line, 11, "Paar" if part["pack"] == 2 else "Stk")
            sheet.write_number(line, 12, float(part["price"]), book.add_format({"num_format": forms["EK"]}))
            sheet.write_number(line, 13, part["stock"])
            truth[part["id"]] = speaker_truth(part, size=f"{part['size']} mm", kind="coaxial")
    return path, truth


def feed(folder: Path) -> tuple[Path, Truth]:
    """A feed: groups of parts, prices with their currency, figures as lists of name, value and unit."""
    truth: Truth = {}
    speakers = []
    for part in SPEAKERS:
        specs = [
            {"name": "Cut-out diameter", "value": part["hole"], "unit": "mm"},
            {"name": "Mounting depth", "value": str(Decimal(part["depth"]) / 10), "unit": "cm"},
            {"name": "Impedance", "value": part["ohm"], "unit": "Ω"},
            {"name": "RMS power", "value": part["rms"], "unit": "W"},
            {"name": "Peak power", "value": part["peak"], "unit": "W"},
            {"name": "Sensitivity", "value": part["db"], "unit": "dB"},
            {"name": "Nominal size", "value": f"{part['size']} mm", "unit": None},
        ]
        price = {"amount": float(part["price"]), "currency": "EUR"}
        speakers.append(
            {
                "sku": part["id"],
                "brand": part["maker"],
                "title": part["name"],
                "price": price,
                "unit": "pair" if part["pack"] == 2 else "piece",
                "stock": part["stock"],
                "specs": specs,
            }
        )
        truth[part["id"]] = speaker_truth(part, size=f"{part['size']} mm")
        for name in ("flange_w_mm", "bolt_circle_mm"):
            del truth[part["id"]][name]
    amplifiers = []
    for part in AMPLIFIERS:
        specs = [
            {"name": "Channels", "value": part["channels"]},
            {"name": "RMS per channel 4 ohm", "value": part["w4"], "unit": "W"},
            {"name": "RMS per channel 2 ohm", "value": part["w2"], "unit": "W"},
            {"name": "Bridged RMS 4 ohm", "value": part["bridged"], "unit": "W"},
            {"name": "Dimensions (W x H x D)", "value": f"{part['w']} x {part['h']} x {part['d']}", "unit": "mm"},
            {"name": "Fuse", "value": part["fuse"], "unit": "A"},
        ]
        price = {"amount": float(part["price"]), "currency": "EUR"}
        amplifiers.append(
            {
                "sku": part["id"],
                "brand": part["maker"],
                "title": part["name"],
                "price": price,
                "stock": part["stock"],
                "specs": specs,
            }
        )
        truth[part["id"]] = amp_truth(part)
    data = {
        "supplier": "Harbour Feed",
        "catalog": {"groups": [{"name": "Speakers", "items": speakers}, {"name": "Amplifiers", "items": amplifiers}]},
    }
    (folder / "feed.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
    return folder / "feed.json", truth


def polish(folder: Path) -> tuple[Path, Truth]:
    """Semicolons and decimal commas in Polish, with a column of kinds and a row of units below the header."""
    heads = [
        *["Indeks", "Producent", "Nazwa", "Rodzaj", "Otwór montażowy", "Głębokość", "Średnica zewnętrzna"],
        *["Impedancja", "Moc RMS", "Moc maks.", "Skuteczność", "J.m.", "Cena netto", "Stan"],
    ]
    units = ["", "", "", "", "mm", "mm", "mm", "Ω", "W", "W", "dB", "", "zł", ""]
    lines, truth = [";".join(heads), ";".join(units)], {}
    for part in SPEAKERS:
        price = f"{part['price']}".replace(".", ",")
        texts = [
            part["id"],
            part["maker"],
            f"{part['name']} {part['size']} mm",
            "Głośniki",
            f"{part['hole']},0",
            f"{part['depth']},0",
            str(part["outer"]),
            str(part["ohm"]),
            str(part["rms"]),
            str(part["peak"]),
            f"{part['db']},0",
            "para" if part["pack"] == 2 else "szt.",
            price,
            str(part["stock"]),
        ]
        lines.append(";".join(texts))
        truth[part["id"]] = speaker_truth(part, size=f"{part['size']} mm")
        del truth[part["id"]]["bolt_circle_mm"]
    for part in AMPLIFIERS:
        texts = [
            part["id"],
            part["maker"],
            part["name"],
            "Wzmacniacze",
            *[""] * 7,
            "szt.",
            part["price"].replace(".", ","),
            str(part["stock"]),
        ]
        lines.append(";".join(texts))
    (folder / "cennik.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder / "cennik.csv", truth


def italian(folder: Path) -> tuple[Path, Truth]:
    heads = [
        *["Codice", "Marca", "Modello", "Canali", "RMS per canale 4 ohm", "RMS per canale 2 ohm", "Ponte RMS 4 ohm"],
        *["Dimensioni (L x A x P) mm", "Fusibile", "Classe", "Prezzo netto", "Giacenza"],
    ]
    lines, truth = [",".join(f'"{head}"' for head in heads)], {}
    for part in AMPLIFIERS:
        sides = f"{part['w']} x {part['h']} x {part['d']}"
        price = f"€ {part['price']}".replace(".", ",")
        texts = [
            part["id"],
            part["maker"],
            part["name"],
            part["channels"],
            f"{part['w4']} W",
            f"{part['w2']} W",
            f"{part['bridged']} W",
            sides,
            f"{part['fuse']} A",
            "D",
            price,
            part["stock"],
        ]
        lines.append(",".join(f'"{text}"' for text in texts))
        truth[part["id"]] = amp_truth(part, **{"class": "d"})
    (folder / "listino amplificatori.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder / "listino amplificatori.csv", truth


STYLES: Sequence[Style] = (
    *(Style(one.__name__, one, {}) for one in (american, french, czech, british, cryptic, feed, polish, italian)),
)
