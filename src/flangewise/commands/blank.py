"""A blank as the commands give it: the record of the contract, and text in columns."""

from __future__ import annotations

from typing import Any

from flangewise.commands.output import text_pairs, text_table
from flangewise.pattern import BendZone, FlatPattern
from flangewise.units import format_length, trimmed, written

TIMES = "×"
_HEAD = ("bend", "line", "zone from", "to", "turn", "", "inside radius", "allowance", "deduction", "by")


def blank_record(pattern: FlatPattern | None) -> dict[str, float] | None:
    """Size, area and mass of the blank; None where there is none."""
    if pattern is None:
        return None
    return {
        "developed_mm": pattern.developed_mm,
        "along_bends_mm": pattern.along_bends_mm,
        "area_mm2": pattern.area_mm2,
        "mass_kg": pattern.mass_kg,
    }


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
    size = f"{format_length(pattern.developed_mm, units)} {TIMES} {format_length(pattern.along_bends_mm, units)}"
    pairs = (
        ("part", pattern.part),
        ("material", f"{material}, {format_length(pattern.thickness_mm, units)}"),
        ("blank", f"{size} (across the bends {TIMES} along them)"),
        ("area", written("area_mm2", pattern.area_mm2)),
        ("mass", written("mass_kg", pattern.mass_kg)),
    )
    rows = [_row(zone, units) for zone in pattern.zones]
    return "\n".join((text_pairs(pairs), text_table(_HEAD, rows, right=(1, 2, 3, 4, 6, 7, 8))))


def _row(zone: BendZone, units: str) -> tuple[str, ...]:
    line_mm, half_mm = zone.line_mm[0][1], zone.allowance.allowance_mm / 2
    lengths_mm = (line_mm, line_mm - half_mm, line_mm + half_mm)
    return (
        zone.label,
        *(format_length(each_mm, units) for each_mm in lengths_mm),
        trimmed(zone.turn_deg, 2) + "°",
        "toward the marked face" if zone.toward else "away from it",
        format_length(zone.inside_radius_mm, units),
        format_length(zone.allowance.allowance_mm, units),
        format_length(zone.allowance.deduction_mm, units),
        zone.allowance.rule,
    )
