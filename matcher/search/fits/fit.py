"""One part at one opening: the installer's question, answered by the same rules as the ranking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from catalog_schema.checks import Check, Fit, worst
from catalog_schema.ladder import LADDER, step_rank
from catalog_schema.places import OPENING_FAMILIES
from catalog_schema.printable import is_printable
from matcher.errors import InputError, NotKnown
from matcher.kernel.columns import columns_of
from matcher.kernel.explain import explain
from matcher.rules.rule import rules_of
from matcher.rules.step import STEP
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.fitted import fitted_before
from matcher.search.catalog.vehicle import OWN
from matcher.search.fits.mounting import Mount, MountingQuestion, mounts_of, screen_checks
from matcher.search.fits.place import BOARD_STEP, is_allowed
from matcher.settings import Settings
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.owned import typed_parts
from matcher.store.database.connection import Connection

STANDING = frozenset({"amp_spot", "cargo"})
"""Kinds of opening in which a part stands instead of filling a hole."""
ANSWERED = frozenset({"dash", "speaker", "amp_spot", "cargo"})
"""Kinds of opening with rules in `matcher.rules`."""
POWERED_FAMILIES = frozenset({"head_unit", "amplifier"})


def fit_part(
    catalog: Catalog, part_id: str, vehicle_id: str, opening_id: str, adapter_id: str | None, asked: str
) -> Fit:
    """Return whether a part fits an opening, by how much, and with which alteration.

    Raises
    ------
    InputError
        if part, opening or adapter is unknown, or they are of different kinds.
    """
    question = question_of(catalog, part_id, vehicle_id, opening_id, adapter_id)
    return fit_parts(catalog, {question: step_rank(asked)})[question]


def question_of(
    catalog: Catalog, part_id: str, vehicle_id: str, opening_id: str, adapter_id: str | None
) -> MountingQuestion:
    """Return the question about a part at an opening, with the part's family and the opening's kind.

    Raises
    ------
    InputError
        if part, opening or adapter is unknown, or they are of different kinds.
    """
    con = catalog.con
    kind = opening_kind(con, vehicle_id, opening_id)
    family = part_family(con, part_id, OPENING_FAMILIES[kind])
    _check_kinds(part_id, family, f"{vehicle_id}/{opening_id}", kind)
    if adapter_id is not None:
        _check_adapter(con, adapter_id, kind)
    return MountingQuestion(part_id, family, vehicle_id, opening_id, kind, adapter_id)


def fit_parts(catalog: Catalog, asked_of: Mapping[MountingQuestion, int]) -> dict[MountingQuestion, Fit]:
    """Return `fit_part` of several parts known to go to their openings, each at a step, computed once each."""
    missing = [one.part_id for one in asked_of if catalog.parts(one.family).row(one.part_id) is None]
    if own := typed_parts(catalog.con, missing):
        catalog = catalog.wished(replace(catalog.wishes, owned=(*catalog.wishes.owned, *own.values())))
    kept = {one: (one.family, one.vehicle_id, one.opening_id) for one in asked_of}
    known: dict[MountingQuestion, dict[tuple[MountingQuestion, int], Fit]] = {
        one: catalog.once(("fits", *at), dict, (one.family, "adapter", one.opening_id, OWN)) for one, at in kept.items()
    }
    alike: dict[object, list[MountingQuestion]] = {}
    for one, step in asked_of.items():
        if (one, step) not in known[one]:
            alike.setdefault((*kept[one], one.adapter_id is None), []).append(one)
    for one, ways in (pair for some in alike.values() for pair in _ways(catalog, some).items()):
        known[one][one, asked_of[one]] = _fit_of(catalog.settings, one, ways, asked_of[one])
    return {one: known[one][one, step] for one, step in asked_of.items()}


def _fit_of(settings: Settings, question: MountingQuestion, ways: list[Mount], asked: int) -> Fit:
    steps = range(len(LADDER))
    least = next((step for step in steps if any(way.verdict(step) != "no" for way in ways)), None)
    step = least if least is not None and least <= asked else asked
    way = _way_at(ways, step)
    checks = way.checks_at(step)
    if not is_allowed(way.step, step):
        taken = columns_of("asked", [{"step": step}]) | columns_of("way", [{"step": way.step}])
        checks = explain(rules_of(STEP), taken, settings)[0] + checks
    return Fit(
        part_id=question.part_id,
        opening=f"{question.vehicle_id}/{question.opening_id}",
        verdict=worst([check.verdict for check in checks]),
        alteration=None if least is None else LADDER[least],
        adapter_id=question.adapter_id,
        cut=None if least is None else _way_at(ways, least).cut,
        checks=checks,
        asked=LADDER[asked],
        turned=way.turned,
    )


def _way_at(ways: list[Mount], step: int) -> Mount:
    """The mounting at a step: the least alteration that is not refused, or else the greatest allowed."""
    allowed = [way for way in ways if is_allowed(way.step, step)] or ways[:1]
    return next((way for way in allowed if way.verdict(step) != "no"), allowed[-1])


def _ways(catalog: Catalog, asked_of: Sequence[MountingQuestion]) -> dict[MountingQuestion, list[Mount]]:
    """Mountings for each question, all about one family and one opening.

    Parts standing in an opening are held on a board or by straps; others go through each hole, starting as found. Only
    the rules of the opening's kind are imported.
    """
    question, settings = asked_of[0], catalog.settings
    vehicle, shared = catalog.vehicle(question.vehicle_id), list[Check]()
    if question.family in POWERED_FAMILIES:
        from matcher.rules.supply import POWERED

        shared += explain(rules_of(POWERED), vehicle.columns, settings)[0]
    if question.kind in STANDING:
        from matcher.rules.amp_board import BOARD
        from matcher.rules.cargo import CARGO
        from matcher.rules.holding import HOLDING

        opening, parts = vehicle.opening(question.kind, question.opening_id), catalog.parts(question.family)
        shared += explain(rules_of(HOLDING), opening, settings)[0]
        columns = parts.columns.take(parts.rows([one.part_id for one in asked_of])) | opening
        found = explain(rules_of(CARGO if question.kind == "cargo" else BOARD), columns, settings, len(asked_of))
        standing = (Mount(BOARD_STEP, False, shared + checks, None, False) for checks in found)
        return {one: [mount] for one, mount in zip(asked_of, standing, strict=True)}
    before = fitted_before(catalog, question.vehicle_id, question.opening_id)
    mounts = mounts_of(catalog, asked_of)
    for one, some in mounts.items():
        screens = screen_checks(catalog, one) if one.kind == "dash" else []
        evidence = before.get((one.part_id, one.adapter_id))
        mounts[one] = [way._replace(checks=shared + _settled(way.checks + screens, evidence)) for way in some]
    return mounts


def _settled(checks: list[Check], evidence: str | None) -> list[Check]:
    """Checks of a part that was fitted before: open ones are settled, refusals are not."""
    if evidence is None:
        return checks
    return [replace(one, verdict="fits", evidence=evidence) if one.verdict == "measure" else one for one in checks]


def opening_kind(con: Connection, vehicle_id: str, opening_id: str) -> str:
    """Return the kind of a vehicle's opening.

    Raises
    ------
    NotKnown
        if there is no such vehicle or opening.
    """
    found = opening_kinds(con, vehicle_id)
    if opening_id not in found:
        raise NotKnown(f"opening of {vehicle_id}", opening_id, list(found))
    return found[opening_id]


def part_family(con: Connection, part_id: str, likely: Sequence[str] = ()) -> str:
    """Return the family of a part, searching the likely families first.

    Raises
    ------
    NotKnown
        if the catalog has no such part.
    """
    if not is_printable(part_id):
        raise NotKnown("part", part_id, [], fix="`boltback catalog show` lists the parts")
    for family in likely:
        if con.execute(f"SELECT 1 FROM {family} WHERE part_id = ?", [part_id]).fetchone():
            return family
    row = con.execute("SELECT family FROM part WHERE part_id = ?", [part_id]).fetchone()
    if row is None and (own := typed_parts(con, [part_id])):
        return str(own[part_id].family)
    if row is None:
        near = con.execute(
            "SELECT part_id FROM part ORDER BY levenshtein(part_id, ?), part_id LIMIT 3", [part_id]
        ).fetchall()
        raise NotKnown("part", part_id, [name for (name,) in near], fix="`boltback catalog show` lists the parts")
    return str(row[0])


def _check_kinds(part_id: str, family: str, place: str, kind: str) -> None:
    if family in OPENING_FAMILIES[kind] and kind in ANSWERED:
        return
    goes = [name for name, families in OPENING_FAMILIES.items() if family in families and name in ANSWERED]
    where = f"a {family} goes into an opening of kind {goes[0]}" if goes else f"no rule places a {family} at an opening"
    raise InputError(f"{part_id} is a {family}, and {place} is an opening of kind {kind}", fix=where)


def _check_adapter(con: Connection, adapter_id: str, kind: str) -> None:
    family = part_family(con, adapter_id, ("adapter",))
    made_for = con.execute('SELECT "for" FROM adapter WHERE part_id = ?', [adapter_id]).fetchone()
    if made_for is None:
        raise InputError(f"{adapter_id} is a {family}, no adapter", fix="name an adapter with --adapter")
    if made_for[0] != kind:
        raise InputError(f"the adapter {adapter_id} is made for a {made_for[0]} opening, this one is a {kind}")
