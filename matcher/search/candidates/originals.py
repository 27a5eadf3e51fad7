"""Factory equipment kept in a job: free, without alteration, and with the figures read from it.

Its current, driving and at rest, is part of the vehicle's own use.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from matcher.kernel.columns import column_of
from matcher.rules.rule import FITS
from matcher.search.candidates.amplifiers import FIGURES, SUPPLY_CELLS, Amplifiers
from matcher.search.candidates.head_units import COUNTED, SIGNATURE
from matcher.search.candidates.loudspeakers import CONE, travel_levels
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.counted import rail_w
from matcher.search.catalog.parts import cell
from matcher.search.feeds.filtering import HELD, filter_columns
from matcher.search.feeds.parts import AmplifierSignature, Candidate, HeadSignature, SpeakerSignature
from matcher.search.question import HEAD_UNIT, JobQuestion, SpeakerPlace
from matcher.search.scoring import Scoring, level_at_1w_cdb

NOWHERE = "the original head unit."
"""Reading subject of a radio for which the vehicle has no opening."""


def original_head(catalog: Catalog, question: JobQuestion) -> Candidate:
    """Return the factory radio of the dash opening that is kept, or of the first one."""
    vehicle = catalog.vehicle(question.job.vehicle_id)
    dashes = vehicle.openings("dash").opening_ids
    dash_id = next((name for name in dashes if name in (question.job.keep or ())), next(iter(dashes), None))
    figures = {} if dash_id is None else vehicle.original("dash", dash_id)
    stated: dict[str, Any] = {name: figures.get(name) for name in SIGNATURE}
    stated |= {name: int(stated[name]) for name in COUNTED if stated[name] is not None}
    if stated["amp_w"] is not None:
        stated["amp_w"] = min(stated["amp_w"], rail_w(catalog.settings))
    stated |= _filters(catalog, question, figures)
    signature = HeadSignature(**stated, preout_v_tol=figures.get("preout_v_tol"))
    kept_at = NOWHERE if dash_id is None else _kept_at(question, dash_id)
    return Candidate(slot=HEAD_UNIT, opening_id=dash_id, signature=signature, kept_at=kept_at)


def original_speaker(catalog: Catalog, question: JobQuestion, place: SpeakerPlace, scoring: Scoring) -> Candidate:
    """Return the factory loudspeakers of a place; without a rating, only their load matters to a feed."""
    figures = catalog.vehicle(question.job.vehicle_id).original("speaker", place.opening_id)
    cone = {name: column_of([figures.get(name)]) for name in CONE}
    low_hz, high_hz = figures.get("low_hz"), figures.get("high_hz")
    return Candidate(
        slot="speaker",
        opening_id=place.opening_id,
        signature=SpeakerSignature(place.factory_ohm, 1, figures.get("rms_w"), original=True),
        level_cdb=level_at_1w_cdb(figures.get("sens_db"), figures.get("sens_basis"), place.factory_ohm),
        travel_cdb=int(travel_levels(cone, np.zeros(1, np.int64), scoring)[0]),
        points=(("bass", scoring.low(low_hz)), ("loudness", scoring.treble(high_hz))),
        low_hz=low_hz,
        high_hz=high_hz,
        kept_at=_kept_at(question, place.opening_id),
    )


def original_amplifiers(catalog: Catalog, question: JobQuestion) -> Amplifiers:
    """Return the factory amplifiers on kept spots, if their channels are known."""
    vehicle = catalog.vehicle(question.job.vehicle_id)
    spots = [name for name in vehicle.openings("amp_spot").opening_ids if name in question.kept]
    rows = {spot: vehicle.original("amp_spot", spot) for spot in spots}
    known = {spot: row for spot, row in rows.items() if row.get("full_channels") is not None}
    signatures = [_amplifier_signature(row, _filters(catalog, question, row)) for row in known.values()]
    candidates = [
        Candidate(slot="amplifier", opening_id=spot, signature=one, kept_at=_kept_at(question, spot))
        for spot, one in zip(known, signatures, strict=True)
    ]
    nothing = np.zeros(len(known), np.int64)
    cells = dict.fromkeys(("points", "cents", "drain", "board_points", "board_cents"), nothing)
    for how in ("quiet", "playing"):
        cells |= {f"{how}_{name}": nothing.astype(kind) for name, kind in SUPPLY_CELLS.items()}
    named = {"part_id": np.full(len(known), None, object), "spot": np.array(list(known), object)}
    alike = {"code": nothing + FITS, "group": np.arange(len(known))}
    return Amplifiers(cells | named | alike, signatures, candidates)


def _amplifier_signature(figures: Mapping[str, Any], filters: dict[str, Any]) -> AmplifierSignature:
    stated: dict[str, Any] = {name: figures.get(figure) for name, figure in FIGURES.items()}
    tols = {f"{name}_tol": figures.get(f"{name}_tol") for name in ("input_min_v", "input_max_v")}
    return AmplifierSignature(**stated | tols | filters | {"channels": int(stated["channels"])})


def _filters(catalog: Catalog, question: JobQuestion, figures: Mapping[str, Any]) -> dict[str, Any]:
    """Whether factory equipment has the filters that bass needs, if bass is wanted."""
    if not question.bass_names:
        return {}
    cells = {name: column_of([figures.get(name)]) for _, *names in HELD.values() for name in names}
    return {name: cell(one, 0) for name, one in filter_columns(cells, catalog.settings).items()}


def _kept_at(question: JobQuestion, opening_id: str) -> str:
    return f"opening:{question.job.vehicle_id}/{opening_id}.original_"
