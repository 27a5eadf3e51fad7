"""What each column of a list fills, proposed for one family: by its header and by what stands in it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from catalog_schema.agreements import AGREEMENTS, BESIDE, PEAK
from catalog_schema.columns import Column as Field
from catalog_schema.columns import family_columns
from catalog_schema.kinds import FigureKind
from catalog_schema.maps import ANY, TIMES
from catalog_schema.units import known_units
from matcher.store.column_units import header_unit
from matcher.store.headers import field_target
from matcher.store.list_words import HEADERS, SALE_UNITS, VALUE_WORDS
from matcher.store.listing import fold
from matcher.store.map_recipes import RECIPES, Column, Cut
from matcher.store.templates import template_words


@dataclass(frozen=True, slots=True)
class Remark:
    """What the tool makes of one thing in the list."""

    about: str
    says: str
    sure: bool


@dataclass(slots=True)
class Proposal:
    """A map, and what to look at before it is used."""

    map: dict[str, Any]
    remarks: list[Remark] = field(default_factory=list)

    def remark(self, about: str, says: str, *, sure: bool) -> None:
        """Add a remark."""
        if Remark(about, says, sure) not in self.remarks:
            self.remarks.append(Remark(about, says, sure))


def role_of(header: str) -> str | None:
    """What a header says that its column holds, None where its words are not known.

    >>> role_of("Mounting depth (in.)"), role_of("Parameters Fs"), role_of("Dimensions mm W"), role_of("Colour")
    ('depth', 'fs', 'width', None)
    """
    known = _roles().get(_plain(header))
    words = re.sub(r"[^\w ø]+|_", " ", re.sub(r"\(.*?\)|\[.*?\]", " ", header.casefold())).split()
    if "x" in words and words[-1] in SIDE_LETTERS:
        return "dims"
    if known is not None and not (known == "dims" and words[-1] in SIDE_LETTERS):
        return known
    ends = (" ".join(words[start:]) for start in range(max(1, len(words) - 3), len(words)))
    found = next((_roles()[end] for end in map(_plain, ends) if end in _roles()), None)
    if found or len(words) < 2:
        return found
    begins = (_roles().get(_plain(" ".join(words[:count]))) for count in range(len(words) - 1, 0, -1))
    role = next(filter(None, begins), None)
    return SIDE_LETTERS.get(words[-1]) if role == "dims" else role


CURRENCIES = ("eur", "usd", "gbp", "chf", "sek", "nok", "dkk", "pln", "czk", "huf")
SIDE_LETTERS = {"w": "width", "b": "width", "h": "height", "d": "depth", "t": "depth"}
"""The lower tier of a header for dimensions, and the side it stands for."""
_LOAD = re.compile(r"\b([124]) ?(?:ohms?|Ω)", re.IGNORECASE)


def _power_into(header: str, family: str) -> str | None:
    """The field of an amplifier's power into a load that a header names: ``RMS per channel 4 ohm``."""
    load, low = _LOAD.search(header), header.casefold()
    if family != "amplifier" or load is None:
        return None
    kind = (
        "bass"
        if re.search(r"\b(bass|sub|mono)", low)
        else "full_bridged"
        if "brid" in low or "brück" in low
        else "full"
    )
    return f"{kind}_w_{load[1]}ohm"


def figures_beside(family: str) -> set[str]:
    """The figures that a list may state beside those of a family, and that are held against them."""
    return {name for one in AGREEMENTS.get(family, ()) for name in one.names if name in BESIDE}


def _are_numbers(values: Sequence[str]) -> bool:
    """Whether values are numbers of parts: all different, each with a digit and in one word."""
    return len(set(values)) == len(values) > 0 and all(re.fullmatch(r"\S*\d\S*", value) for value in values)


def own_field(header: str, family: str) -> str | None:
    """The field that a header of the house names: ``depth_mm``, ``Depth (in)``."""
    found = field_target(header, family)
    return None if found is None else found.column.name


@cache
def _roles() -> dict[str, str]:
    return {_plain(name): role for role, names in HEADERS.items() for name in names}


def _plain(header: str) -> str:
    """The header in small letters, without brackets, marks and units; a unit alone stays."""
    text = re.sub(r"\(.*?\)|\[.*?\]", " ", header.casefold())
    words = re.sub(r"[^\w ø]+|_", " ", text).split()
    bare = [word for word in words if word not in ("mm", "cm", "in", "db", "kg", "w", "l", *CURRENCIES)]
    return " ".join(words if len(words) == 1 else bare)


FIELD_OF_ROLE: dict[str, tuple[str, ...]] = {
    "size": ("size", "size_in"),
    "dims": ("size_in",),
    "cutout": ("cutout_w_mm", "cutout_mm"),
    "cutout_h": ("cutout_h_mm",),
    "depth": ("depth_mm", "driver_depth_mm", "d_mm", "body_d_mm"),
    "flange": ("flange_w_mm", "outer_mm"),
    "flange_h": ("flange_h_mm",),
    "bolt_circle": ("bolt_circle_mm",),
    "magnet": ("magnet_mm",),
    "impedance": ("impedance_ohm", "coil_ohm", "amp_min_ohm"),
    "rms": ("rms_w", "amp_w"),
    "sens": ("sens_db",),
    "fs": ("fs_hz",),
    "low": ("low_hz",),
    "high": ("high_hz",),
    "vas": ("vas_l",),
    "sd": ("sd_cm2",),
    "xmax": ("xmax_mm",),
    "displaces": ("displaces_l",),
    "channels": ("full_channels", "amp_channels"),
    "fuse": ("fuse_a",),
    "current": ("current_a",),
    "width": ("w_mm", "body_w_mm"),
    "height": ("h_mm", "body_h_mm"),
    "length": ("length_m", "d_mm"),
    "volume": ("net_l",),
    "tuned": ("tuned_hz",),
    "area": ("area_mm2",),
    "vlt": ("vlt_pct",),
}
"""The fields that a role may fill whole: the first that the family has."""


class FamilyProposal:
    """The columns of one family as they are being proposed."""

    def __init__(self, proposal: Proposal, family: str, prefix: str) -> None:
        self.proposal, self.family, self.prefix = proposal, family, prefix
        self.unknown = {fold(word) for word in proposal.map.get("unknown", ())}
        self.known = {column.name: column for column in family_columns(family)}
        self.fields: dict[str, str] = {}
        self.columns: dict[str, Any] = {}
        self.words: dict[str, dict[str, str]] = {}
        self.constants: dict[str, str] = {}
        self.ignored: list[str] = []

    def entries(self) -> dict[str, Any]:
        """What the map says of the family."""
        found = {"fields": self.fields, "columns": self.columns, "words": self.words, "constants": self.constants}
        return {name: entry for name, entry in found.items() if entry}

    def take(self, columns: dict[str, list[str]]) -> None:
        """Propose what each column fills."""
        for header, cells in columns.items():
            self._take_column(header, [cell for cell in cells if cell and fold(cell) not in self.unknown])
        if "maker" not in self.fields.values():
            self.constants["maker"] = self.proposal.map["name"]
            self._remark("maker", "no column tells the maker: the map names one for all", sure=False)
        for name, column in self.known.items():
            if column.required and name not in self._filled():
                self._remark(name, "nothing fills it, and it is required", sure=False)

    def _filled(self) -> set[str]:
        filled = {name.partition(" (")[0] for name in (*self.fields.values(), *self.constants)}
        return filled | {name for entry in self.columns.values() for name in names_in(entry)}

    def _take_column(self, header: str, values: list[str]) -> None:
        name = own_field(header, self.family) or _power_into(header, self.family)
        if name in self.known and name not in self._filled():
            self._fill_whole(header, self.known[name], values)
            return
        role = role_of(header)
        if role == "model" and "part_id" not in self._filled() and _are_numbers(values):
            role = "part_id"
        if role == "peak" and PEAK in figures_beside(self.family):
            self.fields[header] = PEAK
            self._remark(header, "a maximum is never used: the continuous power is held against it", sure=True)
            return
        if role is None or role == "peak":
            self._leave_out(header, "a maximum is never used" if role else "its header is not known", values)
            return
        recipe = RECIPES.get(role)
        cut = recipe(Column(header, role, self.family, values, sorted(self.unknown))) if recipe and values else None
        if cut is not None:
            self._cut(header, cut)
            return
        fits = [name for name in FIELD_OF_ROLE.get(role, (role,)) if name in self.known]
        name = next((name for name in fits if name not in self._filled()), None)
        if name is None:
            self._leave_out(header, f"{self.family} has no field for it alone", values)
        else:
            self._fill_whole(header, self.known[name], values)

    def _cut(self, header: str, cut: Cut) -> None:
        self.columns[header] = cut.entry
        names = names_in(cut.entry)
        if "pack_of" in names:
            self.words["pack_of"] = dict(SALE_UNITS)
        self._remark(header, ": ".join(filter(None, (", ".join(names), cut.look_at))), sure=not cut.look_at)

    def _leave_out(self, header: str, why: str, values: list[str]) -> None:
        if not self.prefix:
            self.ignored.append(header)
            self._remark(header, f"left out: {why}", sure=not values)
            return
        self.fields[header] = "notes"
        if values:
            self._remark(header, f"goes to the notes: {why}", sure=False)

    def _fill_whole(self, header: str, column: Field, values: list[str]) -> None:
        unit = header_unit(header)
        is_figure = isinstance(column.kind, FigureKind)
        self.fields[header] = (
            f"{column.name} ({unit})"
            if is_figure and unit != column.unit and unit in known_units(column.unit)
            else column.name
        )
        words = SALE_UNITS if column.name == "pack_of" else VALUE_WORDS.get(column.name, {})
        used = {value: words[fold(value)] for value in dict.fromkeys(values) if fold(value) in words}
        if used:
            self.words[column.name] = used
        if column.name == "sens_db":
            self._take_level(header)
        guessed = is_figure and unit is None and column.unit not in (*_pieces(header), "n", "ohm", "db")
        guessed = guessed and own_field(header, self.family) is None
        guessed = guessed and sum(value[-1].isdigit() for value in values) > 0.3 * len(values)
        says = f": bare numbers are taken for {column.unit}" if guessed else ""
        self._remark(header, self.fields[header] + says, sure=not guessed)

    def _take_level(self, header: str) -> None:
        if re.search(r"2[.,]83", header):
            self.constants["sens_basis"] = "2v83"
        elif re.search(r"\b1 ?w", header, re.IGNORECASE):
            self.constants["sens_basis"] = "1w"
        else:
            self._remark(header, "nobody says whether it is at 1 W or at 2.83 V", sure=False)

    def _remark(self, about: str, says: str, *, sure: bool) -> None:
        self.proposal.remark(self.prefix + about, says, sure=sure)


def _pieces(header: str) -> list[str]:
    return re.split(r"[\W_]+", header.casefold())


def names_in(entry: dict[str, Any]) -> list[str]:
    """Every field that a map's entry for a column can fill."""
    found = [entry["field"]] if entry.get("field") else []
    for one in (*entry.get("templates", ()), *entry.get("find", ())):
        found += sorted(template_words(one["template"]) - {ANY, TIMES, *BESIDE}, key=one["template"].index)
        found += list(one.get("set", ()))
    return list(dict.fromkeys([*found, *([entry["rest"]] if entry.get("rest") else [])]))
