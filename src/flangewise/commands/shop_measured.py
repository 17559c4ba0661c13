"""`shop measured`: what the shop remembers of bends that were measured, and what it changed."""

from __future__ import annotations

from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.output import csv_text, format_option, put, put_json, tell_example_shop, text_table
from flangewise.shop import (
    RememberedDeduction,
    RememberedDepth,
    Shop,
    load_shop,
    read_measured,
    remembered_deductions,
    remembered_depths,
    thickness_tolerance_mm,
)
from flangewise.units import in_units, trimmed
from flangewise.words import phrase, say, word


@click.command("measured")
@format_option
@click.pass_obj
def measured_command(settings: Settings, fmt: str) -> None:
    """What is remembered of measured bends, key by key: how sure it is, and what it changed.

    Depth offset: how much deeper the machine goes than it shows. Springback: what the model's is multiplied by. Lots
    too far from what the others say are kept in the file, named here, and not used.
    """
    shop = load_shop(settings.shop_folder, {"materials", "tolerances"})
    measured = read_measured(shop.measured_file)
    tell_example_shop(settings, fmt=fmt)
    depths = remembered_depths(measured, lambda material, thickness: _tolerance_mm(shop, material, thickness))
    deductions = remembered_deductions(measured)
    records = [*map(_depth_record, depths), *map(_deduction_record, deductions)]
    if fmt == "json":
        for record in records:
            put_json(record)
    elif fmt == "csv":
        put(csv_text(_COLUMNS, records))
    elif not records:
        put(word("measured.none"))
    else:
        put(say(phrase("measured.head", count=len(measured.rows), file=str(shop.measured_file))))
        put(f"\n{_depth_text(depths, settings.units)}\n\n{_deduction_text(deductions, settings.units)}")


_COLUMNS = (
    "kind",
    "machine",
    "material",
    "thickness_mm",
    "die",
    "nose_class_mm",
    "turn_deg",
    "lots",
    "borrowed_lots",
    "depth_offset_mm",
    "springback_factor",
    "depth_change_mm",
    "deduction_mm",
    "rule_deduction_mm",
    "plus_minus_mm",
    "outliers",
)


def _tolerance_mm(shop: Shop, material: str, thickness_mm: float) -> float | None:
    if material not in shop.materials:
        return None
    return thickness_tolerance_mm(shop.tolerances, shop.materials[material].product, thickness_mm)


def _depth_record(found: RememberedDepth) -> dict[str, Any]:
    key, learned = found.key, found.learned
    return {
        **dict.fromkeys(_COLUMNS),
        "kind": "depth",
        "machine": key.machine,
        "material": key.material,
        "thickness_mm": key.thickness_mm,
        "die": key.die,
        "nose_class_mm": key.nose_class_mm,
        "turn_deg": found.turn_deg,
        "lots": learned.lots,
        "borrowed_lots": learned.donor_lots,
        "depth_offset_mm": learned.learned.depth_offset_mm,
        "springback_factor": found.springback_factor,
        "depth_change_mm": found.depth_change_mm,
        "plus_minus_mm": learned.plus_minus_mm,
        "outliers": list(learned.outliers),
    }


def _deduction_record(found: RememberedDeduction) -> dict[str, Any]:
    key, learned = found.key, found.learned
    return {
        **dict.fromkeys(_COLUMNS),
        "kind": "deduction",
        "material": key.material,
        "thickness_mm": key.thickness_mm,
        "die": key.die,
        "nose_class_mm": key.nose_class_mm,
        "turn_deg": float(key.turn_deg),
        "lots": learned.lots,
        "borrowed_lots": learned.donor_lots,
        "deduction_mm": learned.deduction_mm,
        "rule_deduction_mm": found.rule_mm,
        "plus_minus_mm": learned.plus_minus_mm,
        "outliers": list(learned.outliers),
    }


def _depth_text(depths: tuple[RememberedDepth, ...], units: str) -> str:
    head = [
        "machine",
        "material",
        "sheet",
        "die",
        "nose",
        "turn",
        "depth offset",
        "springback",
        "depth change",
        "known",
    ]
    rows = [
        [
            found.key.machine,
            found.key.material,
            _length(found.key.thickness_mm, units),
            found.key.die,
            _length(found.key.nose_class_mm, units),
            f"{trimmed(found.turn_deg, 1)}°",
            _length(found.learned.learned.depth_offset_mm, units),
            f"x {trimmed(found.springback_factor, 2)}",
            _length(found.depth_change_mm, units),
            _known(say(found.learned.told, units=units), found.learned.outliers),
        ]
        for found in depths
    ]
    return text_table(head, rows, right=range(4, 9))


def _deduction_text(deductions: tuple[RememberedDeduction, ...], units: str) -> str:
    head = ["material", "sheet", "die", "nose", "turn", "deduction", "by rule", "known"]
    rows = [
        [
            found.key.material,
            _length(found.key.thickness_mm, units),
            found.key.die,
            _length(found.key.nose_class_mm, units),
            f"{found.key.turn_deg}°",
            _length(found.learned.deduction_mm, units),
            _length(found.rule_mm, units),
            _known(say(found.learned.told, units=units), found.learned.outliers),
        ]
        for found in deductions
    ]
    return text_table(head, rows, right=range(3, 7))


def _length(length_mm: float, units: str) -> str:
    return trimmed(in_units(length_mm, units), 3 if units == "mm" else 4)


def _known(told: str, outliers: tuple[str, ...]) -> str:
    return told + (f"; not used: {', '.join(outliers)}" if outliers else "")
