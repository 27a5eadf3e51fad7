"""The words of suppliers' lists, English and German: headers, families, units of sale, lines that are no parts.

Common practice of price lists, with no published source. A header is compared in small letters,
without what stands in brackets, without units and without marks.
"""

from __future__ import annotations

HEADERS: dict[str, tuple[str, ...]] = {
    "part_id": (
        "art nr", "artikel nr", "artikelnummer", "artnr", "best nr", "bestellnummer", "sku", "part no", "part number",
        "part id", "item no", "item number", "item code", "code", "product code", "order no", "order code", "mpn",
        "teilenummer", "id", "ref",
    ),
    "maker": ("marke", "hersteller", "brand", "make", "maker", "manufacturer", "fabrikat"),
    "model": ("bezeichnung", "modell", "model", "description", "beschreibung", "name", "product", "artikel", "item"),
    "price": ("preis", "vk", "ek", "price", "price ea pr", "net price", "netto", "nettopreis", "trade price", "cost",
              "list price", "dealer", "dealer price", "preis netto", "vk netto", "ek netto",
              "haendlerpreis", "händlerpreis", "unit price"),
    "pack_of": ("einheit", "ve", "pack", "pack of", "unit", "per", "verpackungseinheit", "pack size", "sold as"),
    "stock": ("lager", "bestand", "lagerbestand", "qty", "qty on hand", "stock", "in stock", "on hand", "menge",
              "quantity"),
    "lead_days": ("lieferzeit", "lead time", "lead days", "delivery"),
    "mass_kg": ("gewicht", "weight", "mass", "masse"),
    "notes": ("bemerkung", "bemerkungen", "anmerkung", "hinweis", "remark", "remarks", "notes", "comment", "comments"),
    "shape": ("bauform", "form", "shape"),
    "size": ("größe", "groesse", "size", "nominal size", "nenngröße", "nenngroesse", "format"),
    "kind": ("bauart", "art", "kind"),
    "cutout": ("ausschnitt ø", "ausschnitt", "einbauöffnung", "einbaudurchmesser", "ausschnitt b", "cut out", "cutout",
               "cut out w", "cutout w", "cutout diameter", "cut out diameter", "hole", "mounting hole", "ausschnitt d"),
    "cutout_h": ("ausschnitt h", "ausschnitt höhe", "cut out h", "cutout h", "cutout height"),
    "depth": ("einbautiefe", "tiefe", "depth", "mounting depth", "mount depth", "install depth"),
    "flange": ("korb ø", "korb", "korbdurchmesser", "außen ø", "außendurchmesser", "aussendurchmesser", "flange",
               "outer", "outer diameter", "overall diameter", "rahmen ø"),
    "flange_h": ("korb h", "flange h", "outer height"),
    "bolt_circle": ("lochkreis", "lochkreis ø", "bolt circle", "pcd", "screw circle"),
    "magnet": ("magnet ø", "magnet", "magnet diameter"),
    "impedance": ("impedanz", "nennimpedanz", "impedance", "ohm", "ohms", "load", "nominal impedance", "z"),
    "coils": ("schwingspulen", "coils", "voice coils", "spulen"),
    "rms": ("belastbarkeit rms max", "belastbarkeit rms", "nennbelastbarkeit", "rms", "rms power", "power rms",
            "rms max", "power rms max", "rms handling", "continuous power", "leistung rms", "dauerbelastbarkeit"),
    "power": ("belastbarkeit", "power", "leistung", "power handling", "watts", "watt"),
    "peak": ("max power", "power max", "peak power", "peak", "max", "musikbelastbarkeit", "spitzenleistung"),
    "sens": ("kennschalldruck", "empfindlichkeit", "sensitivity", "spl", "wirkungsgrad", "kennschalldruck db"),
    "fs": ("fs", "resonanzfrequenz", "resonance", "f0"),
    "range": ("range", "frequency range", "frequency response", "frequenzgang", "übertragungsbereich", "freq range"),
    "low": ("low", "untere grenzfrequenz", "f min"),
    "high": ("high", "obere grenzfrequenz", "f max"),
    "qts": ("qts",),
    "qes": ("qes",),
    "vas": ("vas",),
    "sd": ("sd", "membranfläche", "piston area"),
    "xmax": ("xmax", "x max"),
    "displaces": ("verdrängung", "displacement", "displaces"),
    "parameters": ("extras", "parameters", "parameter", "tsp", "thiele small", "t s parameters", "daten", "specs"),
    "channels": ("channels", "kanäle", "kanaele", "ch", "no of channels"),
    "full_powers": ("rms per channel", "power per channel", "leistung pro kanal", "rms power per channel",
                    "rms pro kanal", "output rms", "leistung je kanal"),
    "bass_powers": ("bass channel rms", "sub channel rms", "basskanal rms", "bass rms", "sub rms", "mono channel rms"),
    "bridged": ("bridged", "bridged rms", "gebrückt", "brückbetrieb", "bridged power"),
    "min_loads": ("min load", "minimum load", "min impedance", "mindestimpedanz", "min last"),
    "input_range": ("input range", "input sensitivity", "eingangsbereich", "eingangsempfindlichkeit", "input"),
    "class": ("class", "klasse", "amplifier class"),
    "fuse": ("fuses", "fuse", "sicherung", "sicherungen"),
    "current": ("current", "max current", "stromaufnahme"),
    "dims": ("dims", "dimensions", "l x w x h", "w x h x d", "b x h x t", "l x b x h", "w x d x h", "h x w x d", "maße",
             "masse mm", "abmessungen", "size mm", "lxwxh", "wxhxd", "bxhxt"),
    "width": ("breite", "width"),
    "height": ("höhe", "height"),
    "length": ("länge", "length"),
    "volume": ("volumen", "volume", "net volume", "nettovolumen"),
    "tuned": ("tuning", "abstimmung", "tuned"),
    "area": ("querschnitt", "cross section", "gauge", "area"),
    "conductor": ("leiter", "conductor", "material"),
    "vlt": ("vlt", "transmission", "lichtdurchlass", "tönung", "visible light"),
}  # fmt: skip
"""Role of a column, and the headers it goes by."""

FAMILY_WORDS: dict[str, tuple[str, ...]] = {
    "head_unit": ("head unit", "head units", "receiver", "receivers", "radio", "radios", "autoradio", "autoradios",
                  "headunit"),
    "speaker": ("speaker", "speakers", "loudspeaker", "loudspeakers", "lautsprecher", "coax", "coaxial", "koax"),
    "amplifier": ("amplifier", "amplifiers", "amp", "amps", "verstärker", "endstufe", "endstufen"),
    "subwoofer": ("sub", "subs", "subwoofer", "subwoofers", "woofer", "woofers", "bass", "bass driver", "tieftöner"),
    "enclosure": ("box", "boxes", "enclosure", "enclosures", "gehäuse", "bass box", "bass boxes", "kiste"),
    "adapter": ("adapter", "adapters", "adapterring", "ring", "rings", "plate", "kit", "blende", "fascia"),
    "cable": ("cable", "cables", "kabel", "wire", "wiring"),
    "film": ("film", "films", "tint", "folie", "folien", "tönungsfolie"),
    "security": ("security", "alarm", "alarms", "tracker", "lock", "alarmanlage"),
    "accessory": ("accessory", "accessories", "zubehör", "camera", "kamera", "aerial", "antenne", "loom"),
}  # fmt: skip
"""Family, and the words it goes by in a column of kinds, a title or a file's name."""

UNKNOWN = ("n/a", "na", "k. a.", "k.a.", "k a", "-", "–", "—", "tba", "tbc", "tbd", "unbekannt", "unknown", "?", "./.")
"""Words that say a figure is not known."""

ALWAYS_UNKNOWN = ("n/a", "-", "–")
"""Those that mean nothing else, wherever they stand."""

SALE_UNITS = {
    "paar": "2", "pair": "2", "pairs": "2", "pr": "2", "set": "2", "stück": "1", "stueck": "1", "stk": "1",
    "stk.": "1", "st": "1", "st.": "1", "each": "1", "ea": "1", "ea.": "1", "pc": "1", "pcs": "1", "piece": "1",
    "single": "1", "einzeln": "1",
}  # fmt: skip
"""Words of how a thing is sold, and the pieces in a pack; a set is taken for two and to be looked at."""

VALUE_WORDS: dict[str, dict[str, str]] = {
    "shape": {"rund": "round", "oval": "oval", "eckig": "rect", "rechteckig": "rect", "rectangular": "rect"},
    "class": {"a/b": "ab", "class a/b": "ab", "class ab": "ab", "klasse ab": "ab", "class d": "d", "klasse d": "d"},
    "kind": {"koax": "coaxial", "koaxial": "coaxial", "coax": "coaxial", "komponenten": "component",
             "2-way coax": "coaxial", "breitband": "full_range", "hochtöner": "tweeter", "geschlossen": "sealed"},
    "conductor": {"kupfer": "copper", "ofc": "copper"},
}  # fmt: skip
"""Field, and the suppliers' words for ours."""

NO_PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("continuation", ("fortsetzung", "continued", "cont.", "übertrag", "carried forward", "suite", "pokračování")),
    ("total", ("summe", "gesamt", "total", "subtotal", "zwischensumme", "sum", "celkem", "razem")),
    ("footnote", ("*", "†", "‡", "note:", "notes:", "hinweis:", "anm.", "footnote")),
)
"""What lines that are no parts are, and how they begin."""
