"""Labels of fields, from the one table of fields: for answers, papers, drawings and forms."""

from __future__ import annotations

from collections.abc import Callable, Collection

OPENINGS = ("SpeakerOpening", "DashOpening", "CargoSpace", "AmpSpot", "ControlSpot", "KeepClear")
NESTED = {"cut_": ("Cut",), "original_": ("OriginalHeadUnit", "OriginalSpeaker", "OriginalAmplifier")}
"""Models within an opening, by the prefix of their fields."""

WORD_LABELS = {
    "air": "ventilation",
    "basis": "basis",
    "behind": "surface behind",
    "body": "kind of body",
    "bolt_patterns": "more bolt patterns",
    "class": "class",
    "conductor": "conductor",
    "cuts_circuit": "interrupts a circuit",
    "covers": "theft routes blocked",
    "effort": "daily effort",
    "fasten": "existing fastening points",
    "features": "features",
    "fits_shape": "shape of the opening",
    "for": "kind of opening",
    "frameless": "frameless",
    "gives": "features provided",
    "gives_shape": "shape for the part",
    "ground": "ground",
    "Electrical.ground": "grounded pole",
    "high_level_in": "high-level input",
    "keys_on_wheel": "steering wheel keys",
    "kind": "kind",
    "label": "name at the counter",
    "level_control": "remote level control",
    "like": "copied from",
    "maker": "maker",
    "material": "material to be cut",
    "model": "model",
    "mount": "mounting",
    "name": "kind",
    "needs": "features required",
    "notes": "notes",
    "opening_id": "short name",
    "own_battery": "own battery",
    "pane": "pane",
    "part_id": "part number",
    "piece": "piece to be cut",
    "place": "place",
    "port_flared": "flared port",
    "position": "position",
    "power_basis": "basis of the power",
    "price": "price per pack",
    "reach": "access",
    "rear_support": "rear support",
    "role": "range it plays",
    "screen": "kind of screen",
    "sens_basis": "basis of the sensitivity",
    "shape": "shape",
    "size": "nominal size",
    "source": "source",
    "tweeter_spot": "spot for a tweeter",
    "unit": "unit of sale",
    "vehicle_id": "short name",
    "vented_pole": "vented pole piece",
    "where": "zone",
    "why": "thing there",
}
"""Labels of the fields that hold words, by name, or by model and name if models differ."""


def field_label(name: str, models: Collection[str] = ()) -> str:
    """Return the label of a field of any of these models, or its name in plain words.

    >>> field_label("depth_mm", ["Speaker"]), field_label("ground", ["Electrical"]), field_label("no_such_thing")
    ('mounting depth', 'grounded pole', 'no such thing')
    """
    from catalog_schema.field_table import FIELD_TABLE  # not loaded for a fit of which nothing is open

    for prefix, nested in NESTED.items():
        if name.startswith(prefix) and not {*OPENINGS}.isdisjoint(models):
            name, models = name.removeprefix(prefix), nested
    labels = [row[1] for model, rows in FIELD_TABLE.items() if model in models for row in rows if row[0] == name]
    labels += [WORD_LABELS[key] for key in (*(f"{model}.{name}" for model in models), name) if key in WORD_LABELS]
    return labels[0] if labels else name.replace("_", " ")


def figure_label(
    figure: str,
    *,
    with_subject: bool = False,
    shown_unit: Callable[[str], str] | None = None,
    translate: Callable[[str], str] = str,
) -> str:
    """Return the label of a figure of an answer, such as ``opening:tern-8/dash.depth_mm`` or ``part.depth_mm``.

    Parameters
    ----------
    with_subject
        Whether to name its opening, part or vehicle.
    shown_unit
        If given, the unit follows: this returns the unit in which figures of a unit are shown.
    translate
        Translation of an English label.

    >>> figure_label("opening:tern-8/dash.depth_mm", with_subject=True)
    'depth behind the panel at the opening'
    >>> figure_label("speaker.depth_mm", shown_unit=str)
    'mounting depth (mm)'
    """
    from catalog_schema.field_table import FIELD_TABLE
    from catalog_schema.parts import FAMILIES
    from catalog_schema.units import UNITS, unit_of_field

    subject, _, field = figure.rpartition(".")
    kind = subject.partition(":")[0].partition(".")[0]
    is_opening = kind in ("opening", "hole", "mouth")
    own = [FAMILIES[kind].__name__, "Part"] if kind in FAMILIES else [one for one in FIELD_TABLE if one not in OPENINGS]
    label = translate(field_label(field, OPENINGS if is_opening else own))
    symbol = UNITS[unit_of_field(field) or "n"].symbol if shown_unit else ""
    of = ("at the opening" if is_opening else f"of the {kind}") if with_subject else ""
    return " ".join(filter(None, (label, of, symbol and shown_unit and f"({shown_unit(symbol)})")))
