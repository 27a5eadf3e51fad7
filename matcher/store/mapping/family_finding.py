"""Find the families of a table: from a column, sub-headings, sheet, title, or descriptions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from catalog_schema.maps import SECTION
from matcher.store.lists.headers import family_named
from matcher.store.lists.list_words import families_in, ours, plain_words
from matcher.store.lists.listing import fold
from matcher.store.mapping.column_roles import power_into, roles_of
from matcher.store.mapping.list_tables import ListTable
from matcher.store.mapping.proposals import LEFT_OUT, ListQuestion

MOSTLY = 0.8
"""A column, or descriptions, decide the family if they do so for this share of the rows."""


@dataclass(slots=True)
class Families:
    """Source of the family of each row of a table."""

    by: str
    """The source in words."""
    column: str | None = None
    """The column, or `SECTION`; None if all rows have one family."""
    within: bool = False
    words: dict[str, str] = field(default_factory=dict)
    """Family by word of the column; under an empty word if all rows have one."""
    rows: dict[str, list[int]] = field(default_factory=dict)
    """Positions of the rows, by word."""
    strangers: dict[str, int] = field(default_factory=dict)
    """Words of no family, with their number of rows."""
    questions: list[ListQuestion] = field(default_factory=list)

    def constants(self, word: str) -> dict[str, str]:
        """Return values that a word of the column adds to the family: ``SPK OV`` means oval."""
        tokens = plain_words(word).split() if not self.within else []
        family = self.words.get(word)
        names = {"speaker": "shape", "adapter": "for"}
        name = names.get(family or "")
        found = set(ours(name, tokens).values()) if name else set()
        return {name: found.pop()} if name and len(found) == 1 else {}


def find_families(table: ListTable, path: Path, family: str | None, kinds: Mapping[str, str]) -> Families:
    """Find the source of each row's family.

    Parameters
    ----------
    family
        The family of all rows, if given.
    kinds
        Given families of words.
    """
    if family is not None:
        return _all(family, "as was said", table)
    found = _by_column(table, kinds) or _by_section(table, kinds)
    described = _by_description(table)
    if found is not None and found.column == SECTION and described is not None:
        found = _more_precise(found, described)
    if found is not None:
        return found
    if described is not None and len(set(described.words.values())) > 1:
        return described
    for text, by in [
        (table.name, "the sheet's name"),
        *((title, "the title") for title in table.titles),
        (path.stem, "the file's name"),
    ]:
        named = [one for one in families_in(text) if one]
        if len(named) == 1:
            return _all(named[0], by, table)
    if described is not None:
        return described
    by_headers = _by_headers(table)
    if by_headers is not None:
        return _all(by_headers, "its columns", table)
    samples = tuple(title for title in (table.name, *table.titles[:1], *table.headers[:3]) if title)
    question = ListQuestion(
        table.name or path.name, "--family", "which family are its parts?", FAMILY_NAMES, 10**6, samples
    )
    return Families("nothing", questions=[question])


FAMILY_NAMES = (
    "speaker",
    "subwoofer",
    "amplifier",
    "head_unit",
    "enclosure",
    "adapter",
    "cable",
    "install",
    "film",
    "accessory",
    "security",
)


def _all(family: str, by: str, table: ListTable) -> Families:
    return Families(by, words={"": family}, rows={"": list(range(len(table.rows)))})


def _by_column(table: ListTable, kinds: Mapping[str, str]) -> Families | None:
    best: tuple[float, Families] | None = None
    for header, cells in table.columns().items():
        words = Counter(cell for cell in cells if cell)
        is_kind = "category" in roles_of(header) or header == "group"
        if (
            not words
            or "model" in roles_of(header)[:1]
            or len(words) > 60
            or (not is_kind and len(words) > max(3, len(cells) // 2))
        ):
            continue
        known = {word: one for word in words if (one := _family_of(word, kinds)) is not None}
        share = sum(words[word] for word in known) / len(cells)
        if (
            share >= (0.5 if is_kind else MOSTLY)
            and (is_kind or len(set(known.values())) > 1)
            and (not best or share > best[0])
        ):
            best = share, _by_words(table, header, cells, kinds)
    return best[1] if best else None


def _by_section(table: ListTable, kinds: Mapping[str, str]) -> Families | None:
    known = [_family_of(section, kinds) for section in table.sections]
    if not any(known):
        return None
    return _by_words(table, SECTION, table.sections, kinds)


def _by_words(table: ListTable, column: str, cells: Sequence[str], kinds: Mapping[str, str]) -> Families:
    found = Families(f"the column {column!r}" if column != SECTION else "sub-headings", column)
    for place, cell in enumerate(cells):
        found.rows.setdefault(_known_as(cell, found.rows), []).append(place)
    for word, places in found.rows.items():
        family = _family_of(word, kinds) or _described_as(table, places)
        if family:
            found.words[word] = family
            continue
        found.strangers[word] = len(places)
        if word and kinds.get(fold(word)) != LEFT_OUT and not any(one == "" for one in families_in(word)):
            samples = tuple(_text_of(table, place) for place in places[:3])
            options = (*FAMILY_NAMES, LEFT_OUT)
            found.questions.append(
                ListQuestion(word, "--kind", "which family is it?", options, len(places) * 5, samples)
            )
    return found


def _known_as(word: str, known: Mapping[str, object]) -> str:
    """Return a word in its first spelling, ignoring case and spaces."""
    return next((one for one in known if fold(one) == fold(word)), word)


def _family_of(word: str, kinds: Mapping[str, str]) -> str | None:
    """Return the family of a word in a column of kinds; None if it has none, or several."""
    answer = kinds.get(fold(word))
    if answer is not None:
        return family_named(answer)
    named = family_named(word) or ""
    found = [named] if named else families_in(word)
    if len(found) > 1 and "" not in found:
        found = families_in(word, head=True)[-1:]
    return found[0] if len(found) == 1 and found[0] else None


def _text_of(table: ListTable, place: int) -> str:
    """Return the longest text of a row, its description."""
    return max(table.rows[place], key=lambda cell: sum(map(str.isalpha, cell)))


def _described_as(table: ListTable, places: Sequence[int]) -> str | None:
    """Return the only family in the descriptions of some rows, if most name one."""
    named = [families_in(_text_of(table, place), head=True) for place in places]
    found = {one[0] for one in named if one}
    return found.pop() if len(found) == 1 and sum(map(bool, named)) >= MOSTLY * len(named) else None


def _more_precise(sections: Families, described: Families) -> Families:
    """Return families by descriptions if they differ from the sub-headings, and by sub-headings otherwise."""
    of_row = {place: sections.words[word] for word in sections.words for place in sections.rows[word]}
    family_at = {place: described.words[word] for word, places in described.rows.items() for place in places}
    if not described.within or all(of_row.get(place, family) == family for place, family in family_at.items()):
        return sections
    for word, family in sections.words.items():
        if left := [place for place in sections.rows[word] if place not in family_at]:
            described.words[word], described.rows[word] = family, left
    described.strangers = {word: count for word, count in sections.strangers.items() if word not in described.words}
    return described


def _by_description(table: ListTable) -> Families | None:
    """Find families by words of the descriptions, row by row."""
    headers = [header for header in table.headers if "model" in roles_of(header)] or table.headers
    best: tuple[int, Families] | None = None
    for header in headers:
        found = Families(f"words within {header!r}", header, within=True)
        for place, cell in enumerate(table.columns()[header]):
            named = families_in(cell, head=True)
            if len(named) == 1 and named[0]:
                found.words[named[0]] = named[0]
                found.rows.setdefault(named[0], []).append(place)
            else:
                found.strangers[cell] = found.strangers.get(cell, 0) + 1
        count = sum(map(len, found.rows.values()))
        if count >= 0.7 * len(table.rows) > 0 and (best is None or count > best[0]):
            best = count, found
    if best is None:
        return None
    found = best[1]
    return _all(next(iter(found.words)), found.by, table) if len(found.words) == 1 else found


_MARKS: tuple[tuple[str, frozenset[str], int], ...] = (
    ("amplifier", frozenset({"full_powers", "bass_powers", "channels", "bridged", "min_loads", "input_range"}), 1),
    ("film", frozenset({"vlt"}), 1),
    ("enclosure", frozenset({"volume", "tuned", "takes", "depth_two"}), 1),
    ("head_unit", frozenset({"screen", "preouts", "preout_v"}), 2),
    ("subwoofer", frozenset({"qes", "displaces", "coils"}), 1),
    ("speaker", frozenset({"cutout", "flange", "sens", "magnet", "bolt_circle", "shape"}), 2),
    ("cable", frozenset({"area", "conductor", "rated"}), 2),
)
"""Families, roles of their columns, and how many of these are enough."""


def _by_headers(table: ListTable) -> str | None:
    roles = {role for header in table.headers for role in roles_of(header)}
    roles |= {"full_powers" for header in table.headers if power_into(header)}
    return next((family for family, marks, least in _MARKS if len(marks & roles) >= least), None)
