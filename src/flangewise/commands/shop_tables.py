"""Which columns of a shop table a person wants to see, and how they are written."""

import re
from collections.abc import Sequence
from typing import Any

from flangewise.commands.output import NOTHING, Record, text_table
from flangewise.units import written

# The keys that a person sees of each table, as columns; JSON and CSV have every key.
COLUMNS: dict[str, tuple[str, ...]] = {
    "materials": (
        *("name", "standard", "yield_mpa", "tensile_mpa", "uniform_elongation", "modulus_mpa"),
        *("family", "least_radius", "mark"),
    ),
    "punches": ("name", "kind", "nose_radius_mm", "included_deg", "height_mm", "load_kn_per_m", "held_mm", "title"),
    "dies": (
        *("name", "kind", "opening_mm", "named_opening_mm", "shoulder_radius_mm", "included_deg"),
        *("height_mm", "load_kn_per_m", "held_mm"),
    ),
    "machines": (
        *("name", "force_kn", "bed_length_mm", "frames_mm", "daylight_mm", "stroke_mm", "throat_mm", "title"),
    ),
    "handlers": (*("name", "kind", "turn_s", "turn_over_bed_s", "turn_over_front_s", "gripper_height_mm", "title"),),
    "gauges": ("name", "gauge", "thickness_mm"),
    "least_radii": ("name", "to_mm", "across", "along", "title"),
    "tolerances": ("name", "to_mm", "deviation_mm", "title"),
}
# What a row of the table is, over its name.
_ROWS = {
    "materials": "material",
    "punches": "punch",
    "dies": "die",
    "machines": "machine",
    "handlers": "handler",
    "gauges": "family",
    "least_radii": "table",
    "tolerances": "product",
}
# Headings that are more than the key without its unit.
_HEADINGS = {
    "uniform_elongation": "uniform elong.",
    "family": "gauges",
    "mark": "figures",
    "nose_radius_mm": "nose",
    "included_deg": "angle",
    "named_opening_mm": "stamped",
    "shoulder_radius_mm": "shoulder",
    "bed_length_mm": "bed",
    "turn_over_bed_s": "over the bed",
    "turn_over_front_s": "over the front",
    "gripper_height_mm": "gripper",
    "deviation_mm": "plus or minus",
    "title": "what it is",
}
_UNIT = re.compile(r"_(mpa|mm|deg|kn_per_m|kn|s)$")


def _heading(table: str, key: str) -> str:
    if key == "name":
        return _ROWS[table]
    return _HEADINGS.get(key) or _UNIT.sub("", key).replace("_", " ")


def table_text(table: str, records: Sequence[Record], *, units: str) -> str:
    """A table's rows in aligned columns, lengths in `units`."""
    keys = COLUMNS[table]
    lines = [line for record in records for line in _lines(table, record)]
    right = [i for i, key in enumerate(keys) if _is_number(lines, key)]
    cells = [[_cell(key, line.get(key), units) for key in keys] for line in lines]
    return text_table([_heading(table, key) for key in keys], cells, right=right)


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
