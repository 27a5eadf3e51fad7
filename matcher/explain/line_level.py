"""The line level between a head unit and an amplifier of a package, asked again."""

from __future__ import annotations

from dataclasses import replace

from catalog_schema.answers import Check
from matcher.rules.line_level import LINE_LEVEL
from matcher.rules.rule import rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import CONVERTER, line_columns, line_of, usable_wants
from matcher.search.feeds.parts import AmplifierSignature, Candidate, LineAid, aid_of, head_signature


def line_checks(
    catalog: Catalog, head: Candidate, amplifier: AmplifierSignature, about: str, names: tuple[str, str]
) -> list[Check]:
    """Every rule of a line; `names` are the subjects of readings that head unit and amplifier are."""
    outputs, aid = head_signature(head), aid_of(head)
    (checks,) = catalog.explain(rules_of(LINE_LEVEL), line_columns([line_of(outputs, amplifier, aid)]))
    slot, field = usable_wants(outputs, amplifier, aid)
    kept_at = _kept_at(head, aid, names) | {"line.usable": f"{names[slot != 'head_unit']}.{field}"}
    return [
        replace(
            check,
            about=about,
            missing=[kept_at[name] for name in check.missing],
            loose=[kept_at[name] for name in check.loose],
        )
        for check in checks
    ]


def _kept_at(head: Candidate, aid: LineAid | None, names: tuple[str, str]) -> dict[str, str]:
    """Where each figure of a line is kept: an accessory's level stands in what it gives."""
    unit, amplifier = names
    own = f"{unit}.preout_v"
    given = next((f"part:{one.part_id}.gives" for one in head.along if one.signature is aid), own)
    return {
        "line.preouts": f"{unit}.preouts",
        "line.greatest_v": own if aid is None else given,
        "line.preout_v": given if aid is not None and aid.kind == CONVERTER else own,
        "line.input_min_v": f"{amplifier}.input_min_v",
        "line.input_max_v": f"{amplifier}.input_max_v",
    }
