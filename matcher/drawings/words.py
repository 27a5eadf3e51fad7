"""Every word that is drawn, once in each language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

ENGLISH: Mapping[str, str] = {
    "about": "for {about}",
    "adapter": "adapter: gives {size} in {outer}",
    "adapter_plain": "adapter",
    "at": "at",
    "dash": "Dash opening from the front: {name}",
    "dash_says": "Opening as found {size}.",
    "opening": "opening as found",
    "body": "body of the unit",
    "face": "face, covers the edge",
    "screen": "floating screen, as it hangs",
    "screen_range": "how low and how high it can hang",
    "shafts": "shaft holes, {apart} apart",
    "shaft_range": "shafts of the unit: {least} to {most} apart",
    "reach": "room to reach what must stay clear",
    "keep_fits": "stays clear",
    "keep_no": "covered, or no room to reach it",
    "keep_measure": "measure first",
    "keep_none": "must stay clear",
    "with_part": "With {part}.",
    "with_adapter": "Through the adapter {adapter}.",
    "verdict_fits": "fits",
    "verdict_no": "does not fit",
    "verdict_measure": "measure first",
    "unknown": "?",
    "measure": "measure",
    "w_mm": "width",
    "h_mm": "height",
    "hole": "hole as found",
    "hole_short": "hole",
    "room_of": "{room} of {asked} mm",
    "bolts": "existing bolts",
    "flat": "flat face around the hole",
    "part_flange": "flange of the part",
    "part_cutout": "its cut-out",
    "part_bolts": "its bolt holes",
    "magnet": "its magnet",
    "beside": "thing beside the magnet",
    "cut": "to be cut away",
    "speaker": "Speaker opening from the front: {name}",
    "section": "Speaker opening in section: {name}",
    "panel": "panel",
    "part": "the part",
    "spacer": "adapter moves it forward",
    "grille": "grille",
    "travel": "travel of the cone",
    "fixed": "fixed metal behind",
    "moving_glass": "moving glass behind",
    "behind_unknown": "what is behind is not known: measure",
    "asked": "clearance asked for",
    "depth": "depth",
    "front": "in front",
    "part_depth": "part",
    "left": "left",
    "left_asked": "left, {asked} asked for",
    "asked_behind": "behind",
    "short": "short",
    "net": "Coil net {net}",
    "net_says": "{count} coils, load {load}.",
    "load": "load {ohm}",
    "amplifier": "amplifier",
    "coil": "driver {driver}",
    "coil_of": "driver {driver} coil {coil}",
    "wire": "{start} to {end}.",
    "not_to_scale": "not to scale",
}
GERMAN: Mapping[str, str] = {
    "about": "für {about}",
    "adapter": "Adapter: gibt {size} in {outer}",
    "adapter_plain": "Adapter",
    "at": "bei",
    "dash": "Schacht von vorn: {name}",
    "dash_says": "Öffnung im Fundzustand {size}.",
    "opening": "Öffnung wie vorgefunden",
    "body": "Gehäuse des Geräts",
    "face": "Blende, deckt den Rand",
    "screen": "schwebender Bildschirm, wie er hängt",
    "screen_range": "so tief und so hoch kann er hängen",
    "shafts": "Achslöcher, Abstand {apart}",
    "shaft_range": "Achsen des Geräts: Abstand {least} bis {most}",
    "reach": "Platz zum Greifen um das, was frei bleibt",
    "keep_fits": "bleibt frei",
    "keep_no": "verdeckt, oder kein Platz zum Greifen",
    "keep_measure": "erst messen",
    "keep_none": "muss frei bleiben",
    "with_part": "Mit {part}.",
    "with_adapter": "Durch den Adapter {adapter}.",
    "verdict_fits": "passt",
    "verdict_no": "passt nicht",
    "verdict_measure": "erst messen",
    "unknown": "?",
    "measure": "messen",
    "w_mm": "Breite",
    "h_mm": "Höhe",
    "hole": "Loch wie vorgefunden",
    "hole_short": "Loch",
    "room_of": "{room} von {asked} mm",
    "bolts": "vorhandene Schrauben",
    "flat": "ebene Fläche um das Loch",
    "part_flange": "Rand des Teils",
    "part_cutout": "sein Ausschnitt",
    "part_bolts": "seine Schraublöcher",
    "magnet": "sein Magnet",
    "beside": "Teil neben dem Magneten",
    "cut": "wegzuschneiden",
    "speaker": "Lautsprecherplatz von vorn: {name}",
    "section": "Lautsprecherplatz im Schnitt: {name}",
    "panel": "Blech",
    "part": "das Teil",
    "spacer": "Adapter rückt vor",
    "grille": "Gitter",
    "travel": "Hub der Membran",
    "fixed": "festes Blech dahinter",
    "moving_glass": "bewegtes Glas dahinter",
    "behind_unknown": "was dahinter liegt, ist unbekannt: messen",
    "asked": "verlangter Abstand",
    "depth": "Tiefe",
    "front": "davor",
    "part_depth": "Teil",
    "left": "bleibt",
    "left_asked": "bleibt, verlangt {asked}",
    "asked_behind": "dahinter",
    "short": "fehlt",
    "net": "Spulennetz {net}",
    "net_says": "{count} Spulen, Last {load}.",
    "load": "Last {ohm}",
    "amplifier": "Verstärker",
    "coil": "Chassis {driver}",
    "coil_of": "Chassis {driver} Spule {coil}",
    "wire": "{start} an {end}.",
    "not_to_scale": "nicht maßstäblich",
}
TABLES: Mapping[str, Mapping[str, str]] = {"en": ENGLISH, "de": GERMAN}


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one language, and how it writes numbers."""

    lang: str = "en"
    inches: bool = False
    """Whether lengths are told in inches, too."""

    def __call__(self, name: str, /, **filled: str) -> str:
        """A word or a sentence, its places filled."""
        table = TABLES.get(self.lang, ENGLISH)
        # What is filled in may hold braces of its own: places are replaced one by one, never formatted twice.
        text = table[name]
        pieces = [piece.partition("}") for piece in text.split("{")]
        return pieces[0][0] + "".join(filled[place] + rest for place, _, rest in pieces[1:])

    def number(self, value: float | Decimal, digits: int = 2) -> str:
        """A number as this language writes it, without needless zeros."""
        text = f"{float(value):.{digits}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        text = "0" if text == "-0" else text
        return text.replace(".", ",") if self.lang == "de" else text

    def mm(self, value: float | Decimal | None) -> str:
        """A length in millimeters, or the sign of the unknown with what to do about it."""
        if value is None:
            return f"? {self('measure')}"
        inches = f" ({self.number(float(value) / 25.4)} in)" if self.inches else ""
        return f"{self.number(value)}{inches}"

    def dimension(self, name: str, value: float | None) -> str:
        """A name with its length."""
        return f"{name} {self.mm(value)}".strip()

    def size(self, w_mm: float | Decimal | None, h_mm: float | Decimal | None) -> str:
        """Width by height; a round thing has its width alone."""
        unknown = "?"
        wide = unknown if w_mm is None else self.mm(w_mm)
        return wide if h_mm is None and w_mm is not None else f"{wide} × {unknown if h_mm is None else self.mm(h_mm)}"


WORDS = Words()
"""English, in millimeters."""
