"""The line level between a head unit and an amplifier of a package, checked again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from catalog_schema.answers import Check
from matcher.rules.line_level import LINE_LEVEL
from matcher.rules.rule import rules_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import CONVERTER, inputs_of, line_columns, outputs_of, usable_wants
from matcher.search.feeds.parts import Candidate, LineAid, aid_of, amplifier_signature, head_signature


def line_checks(catalog: Catalog, head: Candidate, amplifier: Candidate, about: str) -> list[Check]:
    """Check every rule of a line from a head unit to an amplifier."""
    outputs, inputs, aid = head_signature(head), amplifier_signature(amplifier), aid_of(head)
    line = line_columns([outputs_of(outputs)], [inputs_of(inputs)], aid).shaped(np.ravel)
    (checks,) = catalog.explain(rules_of(LINE_LEVEL), line)
    slot, field = usable_wants(outputs, inputs, aid)
    wants = (head if slot == "head_unit" else amplifier).figures_at
    kept_at = _kept_at(head, aid, amplifier) | {"line.usable": f"{wants}{field}"}
    return [
        replace(
            check,
            about=about,
            missing=[kept_at[name] for name in check.missing],
            loose=[kept_at[name] for name in check.loose],
        )
        for check in checks
    ]


def _kept_at(head: Candidate, aid: LineAid | None, amplifier: Candidate) -> dict[str, str]:
    """Return where each figure of a line is stored: an accessory's level is in its output figures."""
    own = f"{head.figures_at}preout_v"
    given = next((f"part:{one.part_id}.gives" for one in head.along if one.signature is aid), own)
    return {
        "line.preouts": f"{head.figures_at}preouts",
        "line.greatest_v": own if aid is None else given,
        "line.preout_v": given if aid is not None and aid.kind == CONVERTER else own,
        "line.input_min_v": f"{amplifier.figures_at}input_min_v",
        "line.input_max_v": f"{amplifier.figures_at}input_max_v",
    }
