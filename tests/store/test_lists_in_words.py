"""Lists that say much in words: mixed units in a cell, mixed sub-headings, installation parts, nested feeds."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.mapping.map_proposals import ListAnswers
from tests.store.test_any_list import parts

HARBOR = """\
; Harbor Point Supply -- dealer sheet
Item #|Mfr|Item Description|Cutout|Mount Depth|Power|Imp|Dealer|Sold By|Avail
-- SPEAKERS --
HP350|Petrel|3-1/2" coax pair|3-1/16" (78 mm)|1 5/8"|25W RMS / 75W max|4 ohm|$24.95|pair|12
HP650|Petrel|6-1/2" coax pair|143mm|2⅜"|60W RMS / 180W max|4 ohm|$49.95|box of 2|5
HP690|Petrel|6x9" 3-way pair|6" x 8-5/8"|80 mm|100W RMS / 300W max|4 ohm|$74.95|pr.|call
HP8M|Petrel|8" midbass|7-1/8"|3 1/4"|150W max|8 ohm|$59.95|ea|2
-- AMPLIFIERS --
HPA4|Petrel|4 channel amp, class D|||4 x 75W RMS @ 4 ohm, 4 x 110W RMS @ 2 ohm||$199.00|ea|3
HPA1|Petrel|Mono amp, class D|||1 x 300W RMS @ 4 ohm, 1 x 500W RMS @ 2 ohm||$189.00|ea|3
-- WIRING --
HPK4|Petrel|4 gauge amp kit, OFC|||||$44.95|kit|9
HPSW|Petrel|16 AWG speaker wire, 100 ft roll|||||$14.95|roll|20
HPF|Petrel|ANL fuse 100A|||||$5.95|2-pack|20
"""
MORAVA = """\
MORAVA AUDIO s.r.o.;;;;;;;;;;;
Kat. č.;Značka;Popis zboží;Prům. výřezu;Vestavná hloubka;Výkon RMS/max;Impedance;Citlivost;Bal.;Cena bez DPH;Cena s DPH
REPRODUKTORY DO DVEŘÍ;;;;;;;;;;
00417;Luňák;Koaxiální reproduktor 165 mm;143 mm;5,8 cm;60/180 W;4 ohmy;90 dB/W/m;pár;1 860,-;2 250,60
SUBWOOFERY;;;;;;;;;;
00502;Luňák;Subwoofer 12";279 mm;5 3/4";450/1000 W;2+2 ohmy;87 dB;1 ks;5 999,-;7 258,79
KABELY;;;;;;;;;;
00601;Luňák;Napájecí kabel 20 mm2 OFC;;;;;;metr;89,-;107,69
POJISTKY;;;;;;;;;;
00701;Luňák;Pojistka ANL 80 A;;;;;;balení 5 ks;145,-;175,45
"""
KLEINTEILE = """\
Art.-Nr.;Marke;Bezeichnung;Nennstrom;Querschnitt;VE;EK;Lieferzeit
K-02;Seeadler;Sicherungshalter ANL;max. 150 A;bis 50 mm²;Stück;12,50;3-5 Tage
K-03;Seeadler;Stromkabel 20 mm² Kupfer;;20 mm²;m;4,20;2 Tage
K-06;Seeadler;Cinchkabel 5 m 2-Kanal;;;Stück;11,90;48 h
K-07;Seeadler;Lautsprecherkabel 2 x 2,5 mm²;;2 x 2,5 mm²;m;1,35;1 Woche
K-14;Seeadler;Dämmmatte Alubutyl;;;2 m²;29,90;2 Wochen
"""


def _item(sku: str, title: str, category: str, amount: float, *specs: tuple[str, object, str | None]) -> dict[str, Any]:
    told = [{"name": name, "value": value, "unit": unit} for name, value, unit in specs]
    offers = [{"type": "net", "price": amount, "currency": "USD", "unit": "each"}]
    return {"identifiers": {"sku": sku}, "brand": {"name": "Merlin"}, "title": title, "category": category,
            "offers": offers, "stock": {"quantity": 2}, "specs": told}  # fmt: skip


FEED = json.dumps({
    "meta": {"count": 3},
    "products": [
        _item("KF-3", "Merlin 12", "Audio > Subwoofers", 219, ("Cutout diameter", "11", "in"), ("RMS power", 500, "W"),
              ("Mounting depth", "6 1/8", "in"), ("Impedance", "Dual 4", "ohm"), ("Nominal size", "12", "in")),
        _item("KF-4", "M600.1", "Audio > Amplifiers", 249, ("Channels", "1", None), ("RMS @ 4 ohm", 300, "W"),
              ("RMS @ 1 ohm", 600, "W"), ("Fuse", "2 x 30", "A"), ("Dimensions (L x W x H)", "12.5 x 7 x 2", "in")),
        _item("KF-5", "Antenna adapter A", "Audio > Installation", 7.5),
    ],
})  # fmt: skip
LISTS: list[tuple[str, str, str, dict[str, dict[str, object]]]] = [
    ("harbor.txt", "utf-8", HARBOR, {
        "HP350": {"cutout_w_mm": "77.7875", "depth_mm": "41.275", "rms_w": 25, "pack_of": 2, "stock": 12},
        "HP650": {"cutout_w_mm": 143, "depth_mm": "60.325", "rms_w": 60, "pack_of": 2, "price": "49.95"},
        "HP690": {"cutout_w_mm": "152.4", "cutout_h_mm": "219.075", "depth_mm": 80, "shape": "oval", "stock": None},
        "HPA4": {"full_channels": 4, "full_w_4ohm": 75, "full_w_2ohm": 110},
        "HPA1": {"full_channels": 0, "bass_channels": 1, "bass_w_4ohm": 300, "bass_w_2ohm": 500, "full_w_4ohm": None},
        "HPK4": {"area_mm2": "21.150639", "conductor": "copper"},
        "HPSW": {"kind": "speaker_wire", "area_mm2": "1.308696"},
        "HPF": {"kind": "fuse", "rated_a": 100, "pack_of": 2},
    }),
    ("morava.csv", "cp1250", MORAVA, {
        "00417": {"cutout_w_mm": 143, "depth_mm": 58, "rms_w": 60, "sens_db": 90, "sens_basis": "1w", "price": 1860},
        "00502": {"cutout_mm": 279, "depth_mm": "146.05", "coils": 2, "coil_ohm": 2, "size_in": 12, "price": 5999},
        "00601": {"area_mm2": 20, "length_m": 1, "price": 89},
        "00701": {"kind": "fuse", "rated_a": 80, "pack_of": 5, "price": 145},
    }),
    ("kleinteile.csv", "cp1252", KLEINTEILE, {
        "K-02": {"kind": "fuse_holder", "rated_a": 150, "area_mm2": 50, "unit": "piece", "lead_days": 5},
        "K-03": {"area_mm2": 20, "length_m": 1, "conductor": "copper"},
        "K-06": {"kind": "signal_lead", "channels": 2, "lead_days": 2},
        "K-07": {"kind": "speaker_wire", "area_mm2": "2.5", "unit": "m", "lead_days": 7},
        "K-14": {"kind": "damping", "unit": "m2", "pack_of": 2, "lead_days": 14},
    }),
    ("feed.json", "utf-8", FEED, {
        "KF-3": {"cutout_mm": "279.4", "depth_mm": "155.575", "coils": 2, "coil_ohm": 4, "rms_w": 500, "stock": 2},
        "KF-4": {"bass_w_4ohm": 300, "bass_w_1ohm": 600, "fuse_a": 60, "d_mm": "317.5", "full_channels": 0},
        "KF-5": {"kind": "antenna_adapter", "price": "7.5"},
    }),
]  # fmt: skip


@pytest.mark.parametrize(("name", "encoding", "text", "truth"), LISTS, ids=[name for name, *_ in LISTS])
def test_figures_told_in_words_stand_in_the_catalog(
    store: Store, tmp_path: Path, name: str, encoding: str, text: str, truth: dict[str, dict[str, object]]
) -> None:
    (tmp_path / name).write_bytes(text.encode(encoding))
    report = load_lists(store, [tmp_path / name], answers=ListAnswers())
    have = parts(store)
    for part, fields in truth.items():
        numbers = {one: Decimal(v) for one, v in fields.items() if str(v).replace(".", "").isdigit()}
        expected = fields | numbers
        assert {one: have[part][one] for one in fields} == expected, part
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()
    assert have.keys() == truth.keys()
