"""`shop measured`: what the shop remembers of bends that were measured, and what it changed."""

from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.output import Printer, format_option, look_up, told_table
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
    printer = Printer(settings, fmt, tuple(_RECORD))
    printer.begin()
    depths = remembered_depths(measured, lambda material, thickness: _tolerance_mm(shop, material, thickness))
    deductions = remembered_deductions(measured)
    records = [*map(_record, depths), *map(_record, deductions)]

    def text(units: str) -> str:
        if not records:
            return word("measured.none")
        head = say(phrase("measured.head", count=len(measured.rows), file=str(shop.measured_file)))
        by_depth = told_table(_DEPTHS, map(_line, depths), units, right=range(4, 9))
        by_deduction = told_table(_DEDUCTIONS, map(_line, deductions), units, right=range(3, 7))
        return "\n\n".join((head, by_depth, by_deduction))

    printer.give_all(records, text)


# Each key of a record, and where in what is remembered it stands; what a kind lacks is None.
_RECORD = {
    "kind": "kind",
    "machine": "found.key.machine",
    "material": "found.key.material",
    "thickness_mm": "found.key.thickness_mm",
    "die": "found.key.die",
    "nose_class_mm": "found.key.nose_class_mm",
    "turn_deg": "turn_deg",
    "lots": "found.learned.lots",
    "borrowed_lots": "found.learned.donor_lots",
    "depth_offset_mm": "found.learned.learned.depth_offset_mm",
    "springback_factor": "found.springback_factor",
    "depth_change_mm": "found.depth_change_mm",
    "deduction_mm": "found.learned.deduction_mm",
    "rule_deduction_mm": "found.rule_mm",
    "plus_minus_mm": "found.learned.plus_minus_mm",
    "outliers": "found.learned.outliers",
}
_DEPTH_ONLY = ("machine", "depth_offset_mm", "springback_factor", "depth_change_mm")
_DEDUCTION_ONLY = ("deduction_mm", "rule_deduction_mm")


def _tolerance_mm(shop: Shop, material: str, thickness_mm: float) -> float | None:
    if material not in shop.materials:
        return None
    return thickness_tolerance_mm(shop.tolerances, shop.materials[material].product, thickness_mm)


def _record(found: RememberedDepth | RememberedDeduction) -> dict[str, Any]:
    """A key with what is remembered of it: of a depth the last turn measured, of a deduction its own turn."""
    kind = "depth" if isinstance(found, RememberedDepth) else "deduction"
    turn_deg = found.turn_deg if isinstance(found, RememberedDepth) else float(found.key.turn_deg)
    values = {"found": found, "kind": kind, "turn_deg": turn_deg}
    lacking = _DEDUCTION_ONLY if kind == "depth" else _DEPTH_ONLY
    return {key: None if key in lacking else look_up(values, path) for key, path in _RECORD.items()}


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
