"""`shop measured`: what the shop remembers of bends that were measured, and what it changed."""

from __future__ import annotations

from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.output import csv_text, format_option, put, put_json, tell_example_shop, told_table
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
        put("\n" + told_table(_DEPTHS, map(_line, depths), settings.units, right=range(4, 9)))
        put("\n" + told_table(_DEDUCTIONS, map(_line, deductions), settings.units, right=range(3, 7)))


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
    return {
        **_record("depth", found),
        "machine": found.key.machine,
        "turn_deg": found.turn_deg,
        "depth_offset_mm": found.learned.learned.depth_offset_mm,
        "springback_factor": found.springback_factor,
        "depth_change_mm": found.depth_change_mm,
    }


def _deduction_record(found: RememberedDeduction) -> dict[str, Any]:
    return {
        **_record("deduction", found),
        "turn_deg": float(found.key.turn_deg),
        "deduction_mm": found.learned.deduction_mm,
        "rule_deduction_mm": found.rule_mm,
    }


def _record(kind: str, found: RememberedDepth | RememberedDeduction) -> dict[str, Any]:
    """What both kinds hold: the key, and how well it is known."""
    key, known = found.key, found.learned
    return {
        **dict.fromkeys(_COLUMNS),
        "kind": kind,
        "material": key.material,
        "thickness_mm": key.thickness_mm,
        "die": key.die,
        "nose_class_mm": key.nose_class_mm,
        "lots": known.lots,
        "borrowed_lots": known.donor_lots,
        "plus_minus_mm": known.plus_minus_mm,
        "outliers": list(known.outliers),
    }


# A line a key: what was found of it, its key beside it, and how well it is known.
_KEY = (
    ("material", "{key.material}"),
    ("sheet", "{key.thickness_mm:3/4}"),
    ("die", "{key.die}"),
    ("nose", "{key.nose_class_mm:3/4}"),
)
_KNOWN = ("known", "{known.told}{unused}")
_DEPTHS = (
    ("machine", "{key.machine}"),
    *_KEY,
    ("turn", "{found.turn_deg:1°}"),
    ("depth offset", "{known.learned.depth_offset_mm:3/4}"),
    ("springback", "x {found.springback_factor:2}"),
    ("depth change", "{found.depth_change_mm:3/4}"),
    _KNOWN,
)
_DEDUCTIONS = (
    *_KEY,
    ("turn", "{key.turn_deg}°"),
    ("deduction", "{known.deduction_mm:3/4}"),
    ("by rule", "{found.rule_mm:3/4}"),
    _KNOWN,
)


def _line(found: RememberedDepth | RememberedDeduction) -> dict[str, Any]:
    outliers = found.learned.outliers
    unused = f"; not used: {', '.join(outliers)}" if outliers else ""
    return {"found": found, "key": found.key, "known": found.learned, "unused": unused}
