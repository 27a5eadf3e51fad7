"""Sentences about physically doubtful claims."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.checks import Claim
from matcher.answers.messages import amount
from matcher.formulas.claims import rail_claim
from matcher.settings import Settings

POWER = {
    "full_w_4ohm": "per channel into 4 ohm",
    "full_w_2ohm": "per channel into 2 ohm",
    "full_bridged_w_4ohm": "bridged into 4 ohm",
    "bass_w_4ohm": "per bass channel into 4 ohm",
    "bass_w_2ohm": "per bass channel into 2 ohm",
    "bass_w_1ohm": "per bass channel into 1 ohm",
    "amp_w": "per channel of its own",
}
RAIL = {
    "clipped": "claimed is a clipped sine",
    "square wave": "claimed is a square wave",
    "impossible": "claimed is impossible without a converter",
}


def claim_against_physics_says(claim: Claim, settings: Settings) -> str:
    """Describe the counted value of a claim, and the reason."""
    subject = f"{claim.part_id}: " if claim.part_id else ""
    claimed, counted = amount(_tenths(claim.claimed), claim.unit), amount(_tenths(claim.counted), claim.unit)
    about = f" {POWER[claim.figure]}" if claim.part_id and claim.figure in POWER else ""
    match claim.why:
        case "rail":
            found = rail_claim(float(claim.claimed), float(settings["rail_v"]))
            kind = "" if found is None else f"; {RAIL.get(found.claim, '')}"
            bound = f"a clean sine from {amount(settings['rail_v'], 'V')} into 4 ohm is at most that{kind}"
        case "current":
            bound = "the power that counts cannot be had from less"
        case "at odds":
            return (
                f"{subject}{claimed}{about} claimed, not counted: power and stated current contradict each other; "
                "read the amplifier's own fuse"
            )
        case _:
            bound = "its fuses or its stated current let all channels together give no more"
    least = "at least " if claim.why == "current" else ""
    return f"{subject}{claimed}{about} claimed, {least}{counted} counted: {bound}"


def _tenths(number: Decimal | None) -> Decimal | None:
    return None if number is None else round(number, 1)
