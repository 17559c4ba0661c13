"""Which columns of a shop table a person wants to see, and how they are written."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flangewise.commands.output import Record, text_table
from flangewise.units import written

NOTHING = "–"

# Heading and key of each column of the text form, by table; JSON and CSV have every key.
COLUMNS: dict[str, tuple[tuple[str, str], ...]] = {
    "materials": (
        ("material", "name"),
        ("standard", "standard"),
        ("yield", "yield_mpa"),
        ("tensile", "tensile_mpa"),
        ("uniform elong.", "uniform_elongation"),
        ("modulus", "modulus_mpa"),
        ("gauges", "family"),
        ("least radius", "least_radius"),
        ("figures", "mark"),
    ),
    "punches": (
        ("punch", "name"),
        ("kind", "kind"),
        ("nose", "nose_radius_mm"),
        ("angle", "included_deg"),
        ("height", "height_mm"),
        ("load", "load_kn_per_m"),
        ("held", "held_mm"),
        ("what it is", "title"),
    ),
    "dies": (
        ("die", "name"),
        ("kind", "kind"),
        ("opening", "opening_mm"),
        ("stamped", "named_opening_mm"),
        ("shoulder", "shoulder_radius_mm"),
        ("angle", "included_deg"),
        ("height", "height_mm"),
        ("load", "load_kn_per_m"),
        ("held", "held_mm"),
    ),
    "machines": (
        ("machine", "name"),
        ("force", "force_kn"),
        ("bed", "bed_length_mm"),
        ("frames", "frames_mm"),
        ("daylight", "daylight_mm"),
        ("stroke", "stroke_mm"),
        ("throat", "throat_mm"),
        ("what it is", "title"),
    ),
    "handlers": (
        ("handler", "name"),
        ("kind", "kind"),
        ("turn", "turn_s"),
        ("over the bed", "turn_over_bed_s"),
        ("over the front", "turn_over_front_s"),
        ("gripper", "gripper_height_mm"),
        ("what it is", "title"),
    ),
    "gauges": (("family", "name"), ("gauge", "gauge"), ("thickness", "thickness_mm")),
    "least_radii": (
        ("table", "name"),
        ("to", "to_mm"),
        ("across", "across"),
        ("along", "along"),
        ("what it is", "title"),
    ),
    "tolerances": (("product", "name"), ("to", "to_mm"), ("plus or minus", "deviation_mm"), ("what it is", "title")),
}


def table_text(table: str, records: Sequence[Record], *, units: str) -> str:
    """A table's rows in aligned columns, lengths in `units`."""
    columns = COLUMNS[table]
    lines = [line for record in records for line in _lines(table, record)]
    right = [i for i, (_, key) in enumerate(columns) if _is_number(lines, key)]
    cells = [[_cell(key, line.get(key), units) for _, key in columns] for line in lines]
    return text_table([heading for heading, _ in columns], cells, right=right)


def _lines(table: str, record: Record) -> list[dict[str, Any]]:
    """Most rows are one line; those that hold a list of bands or gauges are one line for each."""
    if table == "gauges":
        return [{**record, **gauge} for gauge in record["gauges"]]
    if table == "tolerances":
        return [{**record, **band} for band in record["bands"]]
    if table == "least_radii":
        return [{**record, **_band(band)} for band in record["bands"]]
    return [dict(record)]


def _band(band: Record) -> dict[str, Any]:
    multiple = band["across_t"] is not None
    ends = "_t" if multiple else "_mm"
    radii = {way: band[way + ends] for way in ("across", "along")}
    said = {
        way: None if value is None else f"{value:g} t" if multiple else f"{value:g} mm" for way, value in radii.items()
    }
    return {"to_mm": band["to_mm"], **said}


def _is_number(lines: Sequence[Record], key: str) -> bool:
    values = [line.get(key) for line in lines]
    return any(isinstance(value, (int, float)) for value in values)


def _cell(key: str, value: Any, units: str) -> str:
    if value is None:
        return NOTHING
    if isinstance(value, float) or (isinstance(value, int) and key != "gauge"):
        return written(key, float(value), units)
    return str(value)
