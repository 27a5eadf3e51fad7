"""Labels of figures that an answer names, from the one table of fields."""

from __future__ import annotations

OPENINGS = ("SpeakerOpening", "DashOpening", "CargoSpace", "AmpSpot", "ControlSpot", "KeepClear")


def figure_in_words(name: str) -> str:
    """Return the label of a figure that an answer names, with its subject.

    >>> figure_in_words("opening:tern-8/dash.depth_mm"), figure_in_words("part.depth_mm")
    ('depth behind the panel at the opening', 'mounting depth of the part')
    >>> figure_in_words("vehicle:tern-8.charge_idle_a")
    'charging current at idle of the vehicle'
    """
    from catalog_schema.field_table import FIELD_TABLE  # not loaded for a fit of which nothing is open

    subject, _, field = name.rpartition(".")
    kind = subject.partition(":")[0].partition(".")[0]
    models = OPENINGS if kind in ("opening", "hole", "mouth") else FIELD_TABLE.keys() - set(OPENINGS)
    own = field.removeprefix("original_")
    labels = [row[1] for model in FIELD_TABLE if model in models for row in FIELD_TABLE[model] if row[0] == own]
    of = "at the opening" if models is OPENINGS else f"of the {kind}"
    return f"{next(iter(labels), own.replace('_', ' '))} {of}"
