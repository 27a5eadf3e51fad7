"""Cells with several values: descriptions with more than a name, and named figures."""

from __future__ import annotations

from matcher.store.mapping.recipe_columns import (
    MOST,
    ListColumn,
    RecipeResult,
    Written,
    choice_words,
    each_template,
    plain_cell,
)

PARAMETERS = ("Fs {fs_hz}", "Qts {qts}", "Qes {qes}", "Vas {vas_l}", "Xmax {xmax_mm}", "Sd {sd_cm2}")
EXTRAS: dict[str, tuple[tuple[str, ...], str]] = {
    "subwoofer": (PARAMETERS, "notes"),
    "speaker": (tuple(one for one in PARAMETERS if "qes" not in one), "notes"),
    "enclosure": (("{net_l} net",), "notes"),
    "head_unit": (("{preout_v} line out x {preouts}",), "features"),
}


def parameters(column: ListColumn) -> RecipeResult | None:
    """Cut several named figures from one cell; the rest goes to the fields that can read it."""
    find, rest = EXTRAS.get(column.family, ((), "notes"))
    return RecipeResult({"find": each_template(find), "rest": rest}) if find else RecipeResult({"field": "notes"})


CHANNELS = ("channel", "- channel", "ch", "kanal", "- kanal", "- kanál", "kanálový", "canaux", "canali", "canales")
DESCRIBED: dict[str, tuple[Written, ...]] = {
    "speaker": (
        *((word, {"kind": "coaxial"}) for word in ("koax", "coax", "koaxial", "coaxial", "coaxiaux", "coassiale")),
        *((word, {"kind": "component"}) for word in ("component", "components", "komponenten", "kit séparé")),
        *((word, {"kind": "full_range"}) for word in ("full range", "breitband", "large bande")),
        "{size}",
    ),
    "subwoofer": (
        *((word, {"coils": "1"}) for word in ("single coil", "svc")),
        *((word, {"coils": "2"}) for word in ("dual coil", "dvc")),
        "{size_in} in ({any})",
        "{any} cm ({size_in} in)",
        "{size_in} in",
        "{size_in} cm",
    ),
    "amplifier": (
        *(f"{{full_channels}} {word}" for word in CHANNELS),
        *((word, {"full_channels": "0", "bass_channels": "1"}) for word in ("monoblock", "mono block")),
    ),
    "enclosure": ("{kind}", "for {drivers} x {driver_size_in}", "{drivers} x {driver_size_in} in"),
    "head_unit": (
        ("floating", {"screen": "floating"}),
        "{screen_in} screen",
        "{screen_in} floating screen",
        "with a {screen_in} screen",
        "{screen_in} display",
    ),
    "adapter": (
        *((word, {"for": "speaker"}) for word in ("spacer", "speaker", "ring", "distanzring", "bague")),
        *((word, {"for": "dash"}) for word in ("fascia", "cage", "radio", "radioblende", "radio blende", "dash")),
    ),
    "install": (
        *(
            f"{{kind}} {figure}"
            for figure in ("{rated_a} a", "{any} {rated_a} a", "{area_mm2} mm2", "2 x {area_mm2} mm2")
        ),
        *(f"{figure} {{kind}}" for figure in ("{rated_a} a", "{area_mm2} mm2", "{area_mm2} awg")),
        "{kind}",
        *(f"{{channels}} {word}" for word in CHANNELS),
    ),
    "cable": (
        *((word, {"conductor": "copper"}) for word in ("ofc", "copper", "kupfer")),
        *((word, {"conductor": "cca"}) for word in ("cca",)),
        "{area_mm2} mm2",
        "{area_mm2} awg",
        "{area_mm2} gauge",
        "{length_m} m",
    ),
}


def purposes(word: str) -> list[str]:
    """Return the purposes of an adapter whose description has a word; empty if it has none."""
    return [one[1]["for"] for one in DESCRIBED["adapter"] if not isinstance(one, str) and one[0] == word]


def model(column: ListColumn) -> RecipeResult | None:
    """Use a description as the model, and cut its other figures."""
    used = [one for one in DESCRIBED.get(column.family, ()) if column.finds(one)]
    is_mixed = column.family == "install"
    used = [one for one in used if not isinstance(one, str) or is_mixed or one == "{kind}" or _mostly(column, one)]
    words = choice_words(column.family, "kind") if "{kind}" in used else {}
    return RecipeResult({"field": "model", "find": each_template(used)}, words=words) if used else None


def _mostly(column: ListColumn, template: str) -> bool:
    """Whether a figure occurs in many descriptions; in a few it is chance."""
    found = sum(column.template(template).find(plain_cell(value)) is not None for value in column.values)
    return found >= MOST * len(column.values)
