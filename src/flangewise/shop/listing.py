"""Rows of the tables as plain records for other programs to read, draw and check with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from flangewise.geometry import Outline
from flangewise.shop.dies import Die
from flangewise.shop.gauges import GaugeFamily
from flangewise.shop.handlers import Handler
from flangewise.shop.load import Shop
from flangewise.shop.machines import Machine
from flangewise.shop.materials import Material
from flangewise.shop.punches import Punch, Tool
from flangewise.shop.radii import LeastRadius
from flangewise.shop.tolerances import ThicknessTolerance
from flangewise.units import MM_PER_INCH

Record = dict[str, Any]


def listed(shop: Shop, table: str) -> tuple[Record, ...]:
    """A table's rows, one record each, in the file's order. Raises KeyError for a table there is not.

    Lengths are mm. Outlines are points [toward the operator, up] with their arcs drawn out to 0.01 mm. A size that a
    row does not have is None: the opening of a flat die, the gripper of an operator.
    """
    rows, record = _TABLES[table]
    return tuple(record(row) for row in rows(shop).values())


def _material(row: Material) -> Record:
    return {**row.model_dump(), "least_radius_source": row.least_radius.source}


def _tool(row: Tool) -> Record:
    plain = row.model_dump(exclude={"outline_mm", "segments"})
    segments = [segment.model_dump() for segment in row.segments]
    return {**plain, "segments": segments, "held_mm": row.held_mm, "outline_mm": _drawn(row.outline)}


def _punch(row: Punch) -> Record:
    nose = row.nose if row.kind == "vee" else None
    return {
        **_tool(row),
        "nose_radius_mm": nose and nose.nose_radius_mm,
        "included_deg": nose and nose.included_deg,
    }


def _die(row: Die) -> Record:
    vee = row.vee if row.kind == "vee" else None
    return {
        **_tool(row),
        "opening_mm": vee and vee.opening_mm,
        "corner_opening_mm": vee and vee.corner_opening_mm,
        "shoulder_radius_mm": vee and vee.shoulder_radius_mm,
        "included_deg": vee and vee.included_deg,
    }


def _machine(row: Machine) -> Record:
    bodies = {"ram_outline_mm": row.ram, "bed_outline_mm": row.bed, "finger_outline_mm": row.finger}
    return {**row.model_dump(exclude=set(bodies)), **{key: _drawn(outline) for key, outline in bodies.items()}}


def _plain(row: Handler | LeastRadius | ThicknessTolerance) -> Record:
    return row.model_dump()


def _gauges(row: GaugeFamily) -> Record:
    gauges = [
        {"gauge": number, "thickness_mm": inches * MM_PER_INCH} for number, inches in sorted(row.thickness_inch.items())
    ]
    return {**row.model_dump(exclude={"thickness_inch"}), "gauges": gauges}


def _drawn(outline: Outline) -> list[list[float]]:
    return [[float(across), float(up)] for across, up in outline.drawn_mm()]


_TABLES: dict[str, tuple[Callable[[Shop], Mapping[str, Any]], Callable[[Any], Record]]] = {
    "materials": (lambda shop: shop.materials, _material),
    "punches": (lambda shop: shop.punches, _punch),
    "dies": (lambda shop: shop.dies, _die),
    "machines": (lambda shop: shop.machines, _machine),
    "handlers": (lambda shop: shop.handlers, _plain),
    "gauges": (lambda shop: shop.gauges.families, _gauges),
    "least_radii": (lambda shop: shop.least_radii, _plain),
    "tolerances": (lambda shop: shop.tolerances, _plain),
}
