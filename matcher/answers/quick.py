"""The quick check: a part and an opening with typed figures, in a temporary database; nothing is stored."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

from catalog_schema.checks import Answer, Check, Fit, Verdict, worst
from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.doubts import row_doubts
from catalog_schema.figures import Figure
from catalog_schema.notation import Notation, settled_cell
from catalog_schema.places import OPENING_FAMILIES
from catalog_schema.problems import FieldError
from matcher.answers.messages import VERDICT_WORDS, amount, fit_with_words
from matcher.drawings.gather import opening_drawings
from matcher.drawings.gather_placed import OpeningRequest
from matcher.drawings.svg import Drawing
from matcher.drawings.words import WORDS
from matcher.errors import DoubtfulFigures, FileRefused, InputError
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.fit import fit_part
from matcher.settings import Settings
from matcher.store.database.connection import Connection, aside
from matcher.store.database.tables import create_tables, opening_columns
from matcher.store.documents.saving import save_vehicle
from matcher.store.readings.subjects import NOT_READ

PART, VEHICLE, OPENING = "part", "typed", "opening"
"""Names of the typed things."""
TYPED = "as typed"
PLACE = f"openings[{OPENING}]."
KINDS = {family: kind for kind, (family, *_) in OPENING_FAMILIES.items() if kind != "control_spot"}
"""Kind of opening for each family that can be checked."""
UNCHECKED = NOT_READ | {"price", "labour_h", "stock", "lead_days", "place", "count"}
"""Fields that no check of a part at an opening reads."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuickFit(Answer):
    """A part at an opening, both with typed figures."""

    fit: Fit
    """The fit with all of its checks; a missing figure makes its check `measure`."""
    known: Verdict | None
    """The verdict of the decided checks; None if there are none."""
    least: Check | None
    """The check in millimeters with the smallest margin."""
    open: list[str]
    """The figures that the other checks need."""
    says: str
    notes: list[str]
    """Assumptions made for missing figures."""


def quick_fields(family: str) -> tuple[list[TableColumn], list[TableColumn]]:
    """Return the figures that can be typed for a part of a family and for its opening.

    Raises
    ------
    InputError
        if no part of this family goes into an opening.
    """
    if family not in KINDS:
        raise InputError(f"no check for {family!r}", fix=f"one of {', '.join(KINDS)}")
    part = [one for one in family_columns(family) if one.name not in UNCHECKED]
    opening = [one for one in opening_columns(KINDS[family]) if not one.name.startswith("original_")]
    return part, [one for one in opening if one.name not in UNCHECKED | {"kind"}]


def quick_fit(
    family: str,
    part: Mapping[str, str],
    opening: Mapping[str, str],
    settings: Settings,
    *,
    alteration: str,
    sure: bool = False,
) -> tuple[QuickFit, dict[str, Drawing]]:
    """Check whether a part fits an opening by typed figures, with drawings.

    Parameters
    ----------
    part, opening
        Figures by field, as text in the field's unit or another one; the unit suffix of a name is optional.
    sure
        Whether the figures are confirmed, even if unusual.

    Raises
    ------
    DoubtfulFigures
        if a figure is unusual and not confirmed.
    InputError
        if a field does not exist or its text cannot be parsed.
    """
    of_part, _ = quick_fields(family)
    parts, places, notes = typed_figures(family, part, opening)
    cells = _cells(of_part, parts, settings.notation())
    if not sure:
        _refuse_doubtful(family, cells)
    with aside() as con:
        create_tables(con)
        con.executemany("insert into setting values (?, ?)", [["at_rest_ma", settings["at_rest_ma"]], *_own(settings)])
        _lay_part(con, family, of_part, cells)
        _lay_opening(con, KINDS[family], places, settings.notation(), sure=sure)
        catalog = Catalog(con, settings)
        fit = fit_with_words(fit_part(catalog, PART, VEHICLE, OPENING, None, alteration))
        drawn = opening_drawings(catalog, OpeningRequest(VEHICLE, OPENING, PART, None, alteration, fit))
    return replace(_answer(fit), notes=notes), drawn


def typed_figures(
    family: str, part: Mapping[str, str], opening: Mapping[str, str]
) -> tuple[dict[str, str], dict[str, str], list[str]]:
    """Return the typed figures of a part and an opening by column name, and the assumptions made.

    Raises
    ------
    InputError
        if a field does not exist.
    """
    of_part, of_opening = quick_fields(family)
    parts, places = _named(of_part, part, "part"), _named(of_opening, opening, "opening")
    if family != "speaker":
        return parts, places, []
    return parts, places, [*_as_round(parts, "cutout", "part"), *_as_round(places, "hole", "opening")]


def _as_round(typed: dict[str, str], hole: str, of: str) -> list[str]:
    """Assume that a hole with one typed size is round, and add a note."""
    if "shape" in typed or f"{hole}_h_mm" in typed or f"{hole}_w_mm" not in typed:
        return []
    typed["shape"] = "round"
    return [f"the {of} is taken as round, since its width alone was typed"]


def _own(settings: Settings) -> list[list[Any]]:
    return [[name, value] for name, value in settings.own.items() if name != "at_rest_ma"]


def _named(columns: Sequence[TableColumn], typed: Mapping[str, str], of: str) -> dict[str, str]:
    """Return typed values by column name."""
    names = {one.name: one.name for one in columns}
    short = {one.name.removesuffix(f"_{one.unit}"): one.name for one in columns if one.unit}
    found = {}
    for name, text in typed.items():
        full = names.get(name) or short.get(name)
        if full is None:
            near = get_close_matches(name, [*short, *names], n=3)
            fix = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(sorted(names))}"
            raise InputError(f"there is no field {name!r} of the {of}", fix=fix)
        found[full] = text
    return found


def _cells(columns: Sequence[TableColumn], typed: Mapping[str, str], notation: Notation) -> dict[str, Any]:
    cells, problems = {}, []
    for column in columns:
        try:
            cells[column.name] = column.kind.read(typed.get(column.name), notation)
        except FieldError as error:
            problems.append(error.at(f"part {column.name}"))
    if problems:
        raise InputError("the part cannot be checked", problems=problems)
    return {name: cell for name, cell in cells.items() if cell is not None}


def _refuse_doubtful(family: str, cells: Mapping[str, Any]) -> None:
    doubts = row_doubts(family, cells)
    if doubts:
        problems = [one.problem._replace(column=f"part {one.problem.column}") for one in doubts]
        raise DoubtfulFigures("the part has doubtful figures; nothing was checked", problems)


def _lay_part(con: Connection, family: str, columns: Sequence[TableColumn], cells: Mapping[str, Any]) -> None:
    row: dict[str, Any] = {"part_id": PART, "maker": "", "model": TYPED, "price": 0, "basis": "maker", "since": 1}
    row["patched"] = False
    for column in columns:
        cell = cells.get(column.name)
        if isinstance(cell, Figure):
            row |= {column.name: cell.value, column.tol_name: cell.tol}
        elif cell is not None:
            row[column.name] = list(cell) if isinstance(cell, tuple) else cell
    names = ", ".join(f'"{name}"' for name in row)
    con.execute(f"insert into {family}_rows ({names}) values ({', '.join('?' * len(row))})", list(row.values()))


def typed_opening(about: Mapping[str, str], typed: Mapping[str, str], notation: Notation) -> dict[str, Any]:
    """Build an opening's document from its name, kind, label and typed figures."""
    cells = {name: settled_cell(text, notation) for name, text in typed.items()}
    cut = {name.removeprefix("cut_"): cell for name, cell in cells.items() if name.startswith("cut_")}
    opening = {name: cell for name, cell in cells.items() if not name.startswith("cut_")}
    return {**about, **opening, **({"cut": cut} if cut else {})}


def _lay_opening(con: Connection, kind: str, typed: Mapping[str, str], notation: Notation, *, sure: bool) -> None:
    opening = typed_opening({"opening_id": OPENING, "kind": kind, "label": TYPED}, typed, notation)
    document = {"vehicle_id": VEHICLE, "openings": [opening]}
    try:
        save_vehicle(con, json.dumps(document, ensure_ascii=False), "", sure=sure)
    except (FileRefused, DoubtfulFigures) as error:
        problems = [one._replace(file="", column=f"opening {one.column.removeprefix(PLACE)}") for one in error.problems]
        if isinstance(error, DoubtfulFigures):
            raise DoubtfulFigures("the opening has doubtful figures; nothing was checked", problems) from None
        raise InputError("the opening cannot be checked", problems=problems) from None


def _answer(fit: Fit) -> QuickFit:
    made = [check for check in fit.checks if not check.missing]
    lengths = [check for check in made if check.unit == "mm" and check.margin is not None]
    least = min(lengths, key=lambda check: check.margin or 0, default=None)
    known = worst([check.verdict for check in made]) if made else None
    missing = list(dict.fromkeys(name for check in fit.checks for name in check.missing))
    says = _says(fit, known, least, len(missing))
    return QuickFit(fit=fit, known=known, least=least, open=missing, says=says, notes=[])


def _says(fit: Fit, known: Verdict | None, least: Check | None, missing: int) -> str:
    """Describe the verdict by the known figures, the smallest margin, and the missing figures.

    An unknown figure never counts as a fit: only checks with all figures known count.
    """
    if known is None:
        return "Nothing can be checked yet: figures of the part and of the opening are needed."
    spare = ""
    if least is not None and least.margin is not None:
        label = WORDS(f"rule_{least.rule}")
        spare = f"; least margin {amount(least.margin, 'mm')}: {label}"
    if not missing:
        return f"{VERDICT_WORDS[fit.verdict]} at {fit.asked}{spare}."
    word = VERDICT_WORDS[known].lower()
    count = "1 figure is" if missing == 1 else f"{missing} figures are"
    return f"As far as it is known: {word} at {fit.asked}{spare}. {count} not known."
