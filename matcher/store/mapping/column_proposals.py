"""Propose a field of a family for each column of a list, by its header and its cells."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from catalog_schema.agreements import AGREEMENTS, BESIDE, PEAK
from catalog_schema.columns import TableColumn as Field
from catalog_schema.columns import family_columns
from catalog_schema.figures import split_header
from catalog_schema.kinds import FigureKind
from catalog_schema.money import currency_in_header
from catalog_schema.units import known_units
from matcher.store.lists.headers import field_target
from matcher.store.lists.list_words import SALE_UNITS, ours, plain_words
from matcher.store.lists.listing import fold
from matcher.store.mapping.cell_roles import are_numbers, are_words, pieces_in_header, reads_as, role_by_cells
from matcher.store.mapping.column_questions import ask, ask_lengths, ask_required
from matcher.store.mapping.column_roles import power_into, roles_of
from matcher.store.mapping.column_units import bare_units, header_unit
from matcher.store.mapping.map_recipes import RECIPES, load_power
from matcher.store.mapping.proposals import LEFT_OUT, Proposal, label, names_in
from matcher.store.mapping.recipe_columns import ListColumn, RecipeResult
from matcher.store.mapping.row_maps import BASS_OF_ONE

READABLE = 0.6
"""A column fills a field if this share of its cells can be read as it."""
PRICES = ("price_net", "price", "price_list")
"""Roles of prices without tax, in order of preference."""


def figures_beside(family: str) -> set[str]:
    """Return the figures that a list may state in addition to a family's, and that are compared with them."""
    return {name for one in AGREEMENTS.get(family, ()) for name in one.names if name in BESIDE}


FIELD_OF_ROLE: dict[str, tuple[str, ...]] = {
    "size": ("size", "size_in"),
    "dims": ("size_in",),
    "cutout": ("cutout_w_mm", "cutout_mm", "body_w_mm", "fits_w_mm"),
    "cutout_h": ("cutout_h_mm", "body_h_mm", "fits_h_mm"),
    "depth": ("depth_mm", "driver_depth_mm", "d_mm", "body_d_mm", "thick_mm"),
    "flange": ("flange_w_mm", "outer_mm", "face_w_mm"),
    "flange_h": ("flange_h_mm", "face_h_mm"),
    "front": ("front_mm", "face_d_mm"),
    "bolt_circle": ("bolt_circle_mm", "fits_bolt_circle_mm"),
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
    "rated": ("rated_a",),
    "standby": ("standby_ma",),
    "width": ("w_mm", "body_w_mm"),
    "height": ("h_mm", "body_h_mm"),
    "length": ("length_m", "d_mm"),
    "volume": ("net_l",),
    "tuned": ("tuned_hz",),
    "takes": ("driver_size_in",),
    "area": ("area_mm2",),
    "vlt": ("vlt_pct",),
    "screen": ("screen_in",),
    "face": ("face_w_mm",),
    "forward": ("forward_mm",),
    "thick": ("thick_mm",),
    "high_level": ("high_level_in",),
    **dict.fromkeys((*PRICES, "price_gross"), ("price",)),
}
"""The fields that a role may fill as a whole: the first that the family has."""


class FamilyProposal:
    """The columns of one family while they are being proposed."""

    def __init__(self, proposal: Proposal, family: str, prefix: str, answers: Mapping[str, str] | None = None) -> None:
        self.proposal, self.family, self.prefix = proposal, family, prefix
        self.answers = answers or {}
        self.unknown = {fold(word) for word in proposal.map.get("unknown", ())}
        self.known = {column.name: column for column in family_columns(family)}
        self.fields: dict[str, str] = {}
        self.columns: dict[str, Any] = {}
        self.words: dict[str, dict[str, str]] = {}
        self.constants: dict[str, str] = {}
        self.told: list[str] = []
        self.left: dict[str, list[str]] = {}
        """Headers of the columns that are not read, and what is in them."""
        self.open_units: dict[str, list[str]] = {}
        """Headers whose bare numbers may be in several units."""

    def entries(self) -> dict[str, Any]:
        """The map's entry for the family."""
        found: dict[str, Any] = {"fields": self.fields, "columns": self.columns, "words": self.words}
        found |= {"constants": self.constants, "told": self.told}
        return {name: entry for name, entry in found.items() if entry}

    def take(self, columns: dict[str, list[str]]) -> None:
        """Propose the fields of each column."""
        filled = {
            header: [cell for cell in cells if cell and fold(cell) not in self.unknown]
            for header, cells in columns.items()
        }
        price = self._price_column(filled)
        late = (("model",), ("parameters",))
        for header in sorted(filled, key=lambda one: (not filled[one], roles_of(one)[:1] in late)):
            if filled[header] or not self.prefix:
                self._take_column(header, filled[header], price)
        self._name_currency(filled)
        self._by_cells()
        self._settle_units(filled)
        self._tell_by_others()
        ask_required(self)
        ask_lengths(self)

    def filled(self) -> set[str]:
        """Return the fields that have a column."""
        found = {name.partition(" (")[0] for name in (*self.fields.values(), *self.constants, *self.told)}
        return found | {name for entry in self.columns.values() for name in names_in(entry)}

    def _price_column(self, columns: Mapping[str, Sequence[str]]) -> str | None:
        """Return the header of the price to use: a cost before a retail price, never one with tax."""
        if any(split_header(answer)[0] == "price" for answer in self.answers.values()):
            return None
        by_role = [
            [header for header, values in columns.items() if values and one in roles_of(header)] for one in PRICES
        ]
        return next((headers[0] for headers in by_role if headers), None)

    def _take_column(self, header: str, values: list[str], price: str | None) -> None:
        answer = self.answers.get(fold(header))
        if answer is not None:
            self._answered(header, answer, values)
            return
        into = power_into(header) if self.family == "amplifier" else None
        name = own_field(header, self.family) or into
        roles = roles_of(header)
        if "model" in roles and "part_id" not in self.filled() and are_numbers(values):
            name, roles = None, ("part_id",)
        cut = (
            load_power(ListColumn(header, into, self.family, values, sorted(self.unknown))) if into and values else None
        )
        if cut is not None and into not in self.filled():
            self._cut(header, cut, None, values)
            return
        is_own = name in self.known and name not in self.filled() and not {*PRICES, "price_gross"} & {*roles}
        if name is not None and is_own and self.reads(self.known[name], values, header_unit(header)):
            self._fill_whole(header, self.known[name], values)
            return
        if {*PRICES, "price_gross"} & {*roles} and header != price:
            self._leave_out(header, "another price of the list counts" if price else "it may be with tax", values)
            return
        if not any(self._take_role(header, role, values) for role in roles):
            why = f"{self.family} has no field for it alone" if roles else "its header is not known"
            self._leave_out(header, why, values)

    def _name_currency(self, columns: Mapping[str, Sequence[str]]) -> None:
        """Use a currency column for the prices; prices in several currencies are not read."""
        named = [set(values) for header, values in columns.items() if "currency" in roles_of(header) and values]
        header = next((one for one, name in self.fields.items() if name == "price"), None)
        if named and header is not None and currency_in_header(header) is None:
            del self.fields[header]
            if len(named[0]) == 1:
                self.columns[header] = {"field": "price", "unit": named[0].pop()}
            else:
                self._leave_out(header, "its amounts are in several currencies", list(columns[header]))

    def _take_role(self, header: str, role: str, values: list[str], unit: str | None = None) -> bool:
        """Fill the fields of a role; False if the family has none for it, or the cells cannot be read as one."""
        if role == "peak":
            if PEAK in figures_beside(self.family) and PEAK not in self.fields.values():
                self.fields[header] = PEAK
            else:
                self._leave_out(header, "a maximum is never used", values)
            self.remark(header, "a maximum is never used: the continuous power is held against it", sure=True)
            return True
        recipe = RECIPES.get(role)
        column = ListColumn(header, role, self.family, values, sorted(self.unknown))
        cut = recipe(column) if recipe and values else None
        cut = None if cut is None else self._without_filled(cut)
        if cut is not None:
            self._cut(header, cut, unit, values)
            return True
        fits = [name for name in FIELD_OF_ROLE.get(role, (role,)) if name in self.known]
        name = next((name for name in fits if name not in self.filled()), None)
        if name is None or not self.reads(self.known[name], values, unit or header_unit(header)):
            return False
        self._fill_whole(header, self.known[name], values, unit)
        return True

    def _without_filled(self, cut: RecipeResult) -> RecipeResult | None:
        """Return the part of a recipe's result for fields that no other column fills."""
        filled = self.filled() - {"notes", "features"}
        if not filled & {*names_in(cut.entry)}:
            return cut
        find = [one for one in cut.entry.get("find", ()) if not filled & {*names_in({"find": [one]})}]
        if "templates" in cut.entry or cut.entry.get("field") in filled:
            return None
        return replace(cut, entry={name: value for name, value in (cut.entry | {"find": find}).items() if value})

    def reads(self, column: Field, values: Sequence[str], unit: str | None) -> bool:
        """Whether most cells can be read as a field."""
        return not values or sum(reads_as(column, value, unit) for value in values) >= READABLE * len(values)

    def _answered(self, header: str, answer: str, values: list[str]) -> None:
        """Read a column as the user answered; a field that this family lacks is another family's."""
        if " x " in answer:
            names = re.findall(r"\w+", answer)
            if self.known.keys() >= {*names} - {"x"}:
                template = answer if "{" in answer else " x ".join(f"{{{name}}}" for name in answer.split(" x "))
                self._cut(header, RecipeResult({"templates": [{"template": template}]}), None, values)
            return
        target = None if answer == LEFT_OUT else field_target(answer, self.family)
        if target is None:
            self._leave_out(header, "somebody said so" if answer == LEFT_OUT else "another family's", [])
            return
        name, unit = target.column.name, split_header(answer)[1]
        role = next((role for role, names in FIELD_OF_ROLE.items() if name in names and role in RECIPES), name)
        recipe = RECIPES.get(role)
        cut = recipe(ListColumn(header, role, self.family, values, sorted(self.unknown))) if recipe and values else None
        if cut is not None and name in names_in(cut.entry):
            self._cut(header, cut, unit, values)
        else:
            self._fill_whole(header, target.column, values, unit)

    def _cut(self, header: str, cut: RecipeResult, unit: str | None, values: Sequence[str]) -> None:
        names = names_in(cut.entry)
        figures = [name for name in names if name in self.known and self.known[name].is_figure]
        if unit is None and header_unit(header) is None and figures and "templates" in cut.entry:
            may = bare_units(self.family, figures[0], Counter(values))
            unit = may[0] if len(may) == 1 else None
        self.columns[header] = cut.entry | ({"unit": unit} if unit else {})
        if "pack_of" in names:
            self.words["pack_of"] = dict(SALE_UNITS)
        self.words |= cut.words
        self.remark(header, ": ".join(filter(None, (", ".join(names), cut.look_at))), sure=not cut.look_at)

    def _leave_out(self, header: str, why: str, values: list[str]) -> None:
        self.left[header] = values
        if values:
            self.remark(header, f"left out: {why}", sure="ignore" in roles_of(header))

    def _fill_whole(self, header: str, column: Field, values: list[str], unit: str | None = None) -> None:
        told = unit or header_unit(header)
        is_figure = isinstance(column.kind, FigureKind)
        self.fields[header] = (
            f"{column.name} ({told})"
            if is_figure and told != column.unit and told in known_units(column.unit)
            else column.name
        )
        used = ours(column.name, values)
        if column.name == "pack_of":
            used = {value: SALE_UNITS[plain_words(value)] for value in values if plain_words(value) in SALE_UNITS}
            used = used | SALE_UNITS
        if used:
            self.words[column.name] = used
        if column.name == "sens_db":
            self._take_level(header)
        if column.name == "price" and (pieces := pieces_in_header(header)):
            self.constants["pack_of"] = pieces
        if is_figure and told is None:
            self.open_units[header] = bare_units(self.family, column.name, Counter(values))
        self.remark(header, self.fields[header], sure=True)

    def _take_level(self, header: str) -> None:
        if re.search(r"2[.,]83", header):
            self.constants["sens_basis"] = "2v83"
        elif re.search(r"\b1 ?w", header, re.IGNORECASE):
            self.constants["sens_basis"] = "1w"
        else:
            self.remark(header, "nobody says whether it is at 1 W or at 2.83 V", sure=True)

    def _by_cells(self) -> None:
        """Propose columns with unknown headers by their cells."""
        for header, values in list(self.left.items()):
            if roles_of(header) or not values or fold(header) in self.answers:
                continue
            role = role_by_cells(values)
            if role and self._take_role(header, role, values):
                del self.left[header]
                self.proposal.remarks = [
                    one
                    for one in self.proposal.remarks
                    if one.about != self.prefix + header or "left out" not in one.says
                ]
        if not {"part_id", "maker", "model"} <= self.filled():
            self._name_by_cells()

    def _name_by_cells(self) -> None:
        """Find number, maker and model in a list without known headers: codes, few words, many words."""
        texts = {header: values for header, values in self.left.items() if not roles_of(header) and values}
        codes = [header for header, values in texts.items() if are_numbers(values)]
        if codes and "part_id" not in self.filled():
            self._name("part_id", codes[0], texts)
        wordy = {header: sum(map(len, values)) / len(values) for header, values in texts.items() if are_words(values)}
        if wordy and "model" not in self.filled():
            self._name("model", max(wordy, key=lambda header: wordy[header]), texts)
        few = [one for one, values in texts.items() if are_words(values) and len(set(values)) < len(values)]
        if few and "maker" not in self.filled():
            self._name("maker", few[0], texts)

    def _name(self, field: str, header: str, texts: dict[str, list[str]]) -> None:
        values = texts.pop(header)
        del self.left[header]
        if not self._take_role(header, field, values):
            self._fill_whole(header, self.known[field], values)

    def _settle_units(self, columns: Mapping[str, Sequence[str]]) -> None:
        """Set the unit of bare numbers; ambiguous columns of lengths follow the others."""
        lengths = {units[0] for header, units in self.open_units.items() if len(units) == 1 and self._is_length(header)}
        metric = not any(re.search(r"\d ?(\"|''|in\b|inch)", cell) for cells in columns.values() for cell in cells)
        for header, units in self.open_units.items():
            name = self.fields.get(header, "").partition(" (")[0]
            if name not in self.known or len(units) < 2:
                unit = units[0] if units else (self.known[name].unit if name in self.known else "")
                is_mixed = any(not cell[-1:].isdigit() for cell in columns[header])
                if unit not in ("", "n") and name in self.known and (is_mixed or unit != self.known[name].unit):
                    self.fields[header] = f"{name} ({unit})"
                continue
            alike = [unit for unit in units if unit in lengths] if len(lengths) == 1 and self._is_length(header) else []
            own = self.known[name].unit
            if alike or (metric and own in units and not self._is_length(header)):
                unit = alike[0] if alike else own
                self.fields[header] = name if unit == own else f"{name} ({unit})"
                self.remark(header, f"bare numbers are in {unit}, as in the columns beside", sure=True)
            else:
                del self.fields[header]
                self.left[header] = list(columns[header])
                says = f"{label(self.family, name)}: the unit of its bare numbers"
                ask(self, header, says, [f"{name} ({unit})" for unit in units], columns[header])

    def _is_length(self, header: str) -> bool:
        name = self.fields.get(header, "").partition(" (")[0]
        return name in self.known and self.known[name].is_length

    def _tell_by_others(self) -> None:
        """Derive fields from a row's other figures: shape and size from the hole, channels from the powers."""
        filled = self.filled()
        if self.family == "speaker":
            sources = {"shape": {"cutout_w_mm", "size"}, "size": {"cutout_w_mm"}}
            missing = [name for name, by in sources.items() if name not in filled and by & filled]
            self.told += missing
            if "size" in filled and "cutout_w_mm" in filled and "size" not in self.fields.values():
                self.told.append("size")
        if (
            self.family == "amplifier"
            and "bass_channels" not in filled
            and any(one.startswith("bass_w") for one in filled)
        ):
            header = next((one for one, name in self.fields.items() if name == "full_channels"), None)
            if header is not None:
                self.fields[header] = "all_channels"
                self.told += ["full_channels", "bass_channels"]
                self.remark(header, "one of them is for bass where the row states a power for it", sure=True)
        if "bass_channels" in self.filled():
            self.told += [name for name in BASS_OF_ONE.values() if name not in self.filled()]
        if "maker" not in self.filled():
            self.constants["maker"] = self.proposal.map["name"]
            self.remark("maker", "no column has the maker: the list's name is used", sure=False)

    def remark(self, about: str, says: str, *, sure: bool) -> None:
        """Add a remark about one of the family's columns."""
        self.proposal.remark(self.prefix + about, says, sure=sure)


def own_field(header: str, family: str) -> str | None:
    """Return the field of a canonical header: ``depth_mm``, ``Depth (in)``."""
    found = field_target(header, family)
    return None if found is None else found.column.name
