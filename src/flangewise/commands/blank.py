"""A blank as the commands give it: the record of the contract, and text in columns."""

from typing import Any

from flangewise.commands.output import text_pairs, told_pairs, told_table
from flangewise.pattern import BendZone, FlatPattern

SIZES = ("developed_mm", "along_bends_mm", "area_mm2", "mass_kg")
_SIZE = (
    ("part", "{blank.part}", ""),
    ("material", "{material}, {blank.thickness_mm}", ""),
    ("blank", "{blank.developed_mm} × {blank.along_bends_mm} (across the bends × along them)", ""),
    ("area", "{blank.area_mm2}", ""),
    ("mass", "{blank.mass_kg}", ""),
)
_BENDS = (
    ("bend", "{bend}"),
    ("line", "{line_mm}"),
    ("zone from", "{from_mm}"),
    ("to", "{to_mm}"),
    ("turn", "{turn_deg:2°}"),
    ("", "{way}"),
    ("inside radius", "{inside_radius_mm}"),
    ("allowance", "{allowance_mm}"),
    ("deduction", "{deduction_mm}"),
    ("by", "{allowance_from}"),
)
# What a record takes from the zone as it stands there.


def blank_record(pattern: FlatPattern | None) -> dict[str, float] | None:
    """Size, area and mass of the blank; None where there is none."""
    return None if pattern is None else {name: getattr(pattern, name) for name in SIZES}


def bend_records(pattern: FlatPattern | None) -> list[dict[str, Any]]:
    """The bend lines from the start edge on, measured on the flat blank. An offset has two, such as 3a and 3b."""
    return [_bend_record(zone) for zone in pattern.zones] if pattern is not None else []


def _bend_record(zone: BendZone) -> dict[str, Any]:
    line_mm, half_mm = zone.line_mm[0][1], zone.allowance.allowance_mm / 2
    return {
        "bend": zone.bend if zone.label == str(zone.bend) else zone.label,
        "line_mm": line_mm,
        "zone_mm": [line_mm - half_mm, line_mm + half_mm],
        "turn_deg": zone.turn_deg,
        "toward": zone.toward,
        "inside_radius_mm": zone.inside_radius_mm,
        "allowance_mm": zone.allowance.allowance_mm,
        "setback_mm": zone.allowance.setback_mm,
        "deduction_mm": zone.allowance.deduction_mm,
        "k_factor": zone.allowance.k_factor,
        "allowance_from": zone.allowance.rule,
    }


def blank_text(pattern: FlatPattern, *, material: str, units: str) -> str:
    """The blank for people: its size, then a line for each bend line."""
    size = text_pairs(told_pairs(_SIZE, {"blank": pattern, "material": material}, units))
    records = [
        {
            **each,
            "from_mm": each["zone_mm"][0],
            "to_mm": each["zone_mm"][1],
            "way": "toward the marked face" if each["toward"] else "away from it",
        }
        for each in bend_records(pattern)
    ]
    return f"{size}\n{told_table(_BENDS, records, units, right=(1, 2, 3, 4, 6, 7, 8))}"
