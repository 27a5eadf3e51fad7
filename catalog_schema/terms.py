"""Terms of a job as they are typed one by one, for one question or to be kept: a budget, a step, a wish."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from catalog_schema.ladder import LADDER
from catalog_schema.notation import Notation, settled_cell
from catalog_schema.whys import LimitChange


@dataclass(frozen=True, slots=True)
class JobTerm:
    """One term: where it is in a job's document, and what it holds."""

    place: tuple[str, ...]
    holds: type
    """``str`` one value, ``list`` several, ``dict`` one for each name."""
    is_number: bool = False


TERMS = {
    "label": JobTerm(("label",), str),
    "notes": JobTerm(("notes",), str),
    "budget": JobTerm(("limits", "budget"), str, True),
    "tier": JobTerm(("tiers",), list, True),
    "alteration": JobTerm(("limits", "alteration"), str),
    "step": JobTerm(("limits", "per_opening"), dict),
    "screen": JobTerm(("limits", "screen_min_in"), str, True),
    "must": JobTerm(("limits", "must"), list),
    "drain": JobTerm(("limits", "at_rest_ma"), str, True),
    "deliver-by": JobTerm(("limits", "deliver_within_days"), str, True),
    "tax": JobTerm(("tax",), str),
    "without": JobTerm(("limits", "without"), dict),
    "pin": JobTerm(("pin",), dict),
    "choose": JobTerm(("choose",), list),
    "original": JobTerm(("keep",), list),
    "owned": JobTerm(("owned",), list),
    "route": JobTerm(("security_routes",), list),
    "film": JobTerm(("film_vlt_pct",), str, True),
    "wish": JobTerm(("wishes",), dict, True),
}
"""Every term by the name of its option."""

OWNED_FIELDS = ("family", "maker", "model", "opening_id", "pieces", "condition")
"""Fields of a part that the customer has, beside its name and its figures."""
NOTHING = "none"
"""Words that take a term out of a job."""

Terms = Mapping[str, Any]
"""By name: a value, several, or one for each name. A term that is not among them stays as it is in the job."""


def settled_terms(terms: Terms, notation: Notation) -> dict[str, Any]:
    """The terms with their numbers as everyone reads them; ``notation`` is how they were typed.

    >>> settled_terms({"budget": "1.500", "wish": {"bass": "5"}, "must": ["gps"]}, Notation("comma"))
    {'budget': 1500, 'wish': {'bass': 5}, 'must': ['gps']}
    """

    def settled(value: Any) -> Any:
        if isinstance(value, Mapping):
            return {name: settled(one) for name, one in value.items()}
        if isinstance(value, list | tuple):
            return [settled(one) for one in value]
        return settled_cell(value, notation) if isinstance(value, str) else value

    return {name: settled(value) if TERMS[name].is_number else value for name, value in terms.items()}


def with_terms(document: Mapping[str, Any], terms: Terms) -> dict[str, Any]:
    """Return a job's document with some terms in place of its own.

    A list takes the place of the job's list, names are set one by one; ``none`` takes a term out.

    >>> with_terms({"job_id": "j", "wishes": {"bass": 3}}, {"budget": "none", "must": ["gps"], "wish": {"screen": 5}})
    {'job_id': 'j', 'wishes': {'bass': 3, 'screen': 5}, 'limits': {'budget': None, 'must': ['gps']}}
    """
    made: dict[str, Any] = copy.deepcopy(dict(document))
    for name, value in terms.items():
        term = TERMS[name]
        *above, last = term.place
        inner = made
        for step in above:
            inner[step] = inner = dict(inner.get(step) or {})
        inner[last] = _set(term, inner.get(last), value)
    return made


def _set(term: JobTerm, before: Any, value: Any) -> Any:
    if term.holds is dict:
        return {name: one for name, one in {**(before or {}), **value}.items() if one != NOTHING}
    if term.holds is list:
        return [one for one in value if one != NOTHING]
    return None if value == NOTHING else value


LIFTED = {
    "budget": ("budget", NOTHING),
    "screen_min_in": ("screen", NOTHING),
    "deliver_within_days": ("deliver-by", NOTHING),
    "at_rest_ma": ("drain", 1_000_000),
}
"""By the limit: the term without which it is no limit any more, and what that term is then."""
LISTED = {"must": "must", "security_routes": "route", "choose": "choose", "keep": "original"}
"""By the limit: the list from which it is left out."""


def without(document: Mapping[str, Any], limits: Iterable[str]) -> dict[str, Any]:
    """Return the terms on which a job's question is asked if some of its limits are lifted.

    An original that need not stay is chosen for, where the job says what to choose.

    Parameters
    ----------
    document
        The job's document.
    limits
        Limits by the names that `Shop.limits` gives them; those of the car are passed over.

    >>> without({"job_id": "j", "limits": {"must": ["gps", "dab"]}}, ["budget", "must.gps", "per_opening.door"])
    {'budget': 'none', 'must': ['dab'], 'step': {'door': 'metal_cut'}}
    """
    made: dict[str, Any] = {}
    for limit in limits:
        stem, _, what = limit.partition(".")
        if stem in LIFTED:
            name, value = LIFTED[stem]
            made[name] = value
        elif stem == "alteration":
            made["alteration"] = LADDER[-1]
        elif stem == "per_opening":
            made["step"] = {**made.get("step", {}), what: LADDER[-1]}
        elif stem in ("pin", "without"):
            made[stem] = {**made.get(stem, {}), what: NOTHING if stem == "pin" else []}
        elif stem in LISTED:
            name = LISTED[stem]
            made[name] = [one for one in made.get(name, held(document, name) or ()) if one not in (what, NOTHING)]
            made[name] = made[name] or [NOTHING]
        if stem == "keep" and held(document, "choose"):
            made["choose"] = [*made.get("choose", held(document, "choose")), what]
    return made


RELAXABLE = {*LIFTED, *LISTED, "alteration", "per_opening", "pin", "without"} - {"keep"}
"""Limits of a job that `changed_terms` can change."""


def changed_terms(document: Mapping[str, Any], changes: Sequence[LimitChange]) -> dict[str, Any]:
    """Return the terms of a job whose limits are changed: dropped, or given their new value.

    >>> changed_terms({"job_id": "j"}, [LimitChange(limit="at_rest_ma", before="5 mA", after="8.5 mA")])
    {'drain': 8.5}
    """
    made = without(document, (one.limit for one in changes))
    for limit, after in ((one.limit, one.after) for one in changes if one.after is not None):
        stem, _, what = limit.partition(".")
        if stem in LIFTED:
            made[LIFTED[stem][0]] = float(after.split()[0])
        elif stem == "per_opening":
            made["step"][what] = after
        elif stem == "alteration":
            made["alteration"] = after
    return made


def held(document: Mapping[str, Any], name: str) -> Any:
    """Value of a term in a job's document; None if it has none."""
    found: Any = document
    for step in TERMS[name].place:
        found = (found or {}).get(step)
    return found


def owned_part(text: str) -> dict[str, Any]:
    """A part that the customer has, as it is typed: its name, then FIELD=VALUE; a field of its family is a figure.

    >>> owned_part("A1; family=amplifier; pieces=2; full_channels=4")
    {'part_id': 'A1', 'family': 'amplifier', 'pieces': '2', 'figures': {'full_channels': '4'}}
    """
    part_id, *typed = (piece.strip() for piece in text.split(";"))
    named = {name.strip(): value.strip() for name, _, value in (piece.partition("=") for piece in typed if piece)}
    own = {name: value for name, value in named.items() if name in OWNED_FIELDS}
    return {"part_id": part_id, **own, "figures": {name: value for name, value in named.items() if name not in own}}


def term_at(place: str) -> str:
    """The term that has a place in a job's document; the place itself if none has.

    >>> term_at("limits.per_opening.dash"), term_at("limits.budget"), term_at("vehicle_id")
    ('step dash', 'budget', 'vehicle_id')
    """
    for name, term in TERMS.items():
        stem = ".".join(term.place)
        if place == stem or place.startswith((f"{stem}.", f"{stem}[")):
            return f"{name} {place[len(stem) :].strip('.[').replace(']', '')}".strip()
    return place


def terms_say(terms: Terms) -> list[str]:
    """The terms as they were typed.

    >>> terms_say({"budget": "1500", "must": ["radio", "gps"], "wish": {"bass": "5"}})
    ['budget 1500', 'must radio, gps', 'wish bass=5']
    """
    texts = []
    for name, value in terms.items():
        if isinstance(value, Mapping):
            texts += [f"{name} {key}={_listed(one)}" for key, one in value.items() if one not in ([], ())]
        else:
            texts.append(f"{name} {_listed(value)}")
    return texts


def _listed(value: Any) -> str:
    if isinstance(value, Mapping):
        return str(value["part_id"])
    return ", ".join(map(_listed, value)) if isinstance(value, list | tuple) else str(value)
