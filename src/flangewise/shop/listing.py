"""Rows of the tables as plain records for other programs to read, and the JSON Schema of each table for editors."""

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from flangewise.geometry import NoseOfPunch, VeeOfDie
from flangewise.shop.defaults import Defaults
from flangewise.shop.load import ROWS, Shop
from flangewise.shop.machines import Machine
from flangewise.shop.materials import GaugeFamily, Material
from flangewise.shop.row import TableRow
from flangewise.shop.tools import Die, Punch, ShopTool

Record = dict[str, Any]
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def listed(shop: Shop, table: str) -> tuple[Record, ...]:
    """A table's rows, one record each, in the file's order. Raises KeyError for a table there is not.

    Lengths are mm. Outlines are points [toward the operator, up] with their arcs drawn out to 0.01 mm. A size that a
    row does not have is None: the opening of a flat die, the gripper of an operator.
    """
    record: Callable[[Any], Record] = _RECORDS.get(ROWS[table], TableRow.model_dump)
    rows: Mapping[str, TableRow] = getattr(shop, table)
    return tuple(record(row) for row in rows.values())


def _material(row: Material) -> Record:
    return {**row.model_dump(), "least_radius_source": row.least_radius.source}


def _tool(row: ShopTool, kind: type[NoseOfPunch] | type[VeeOfDie], sizes: NoseOfPunch | VeeOfDie | None) -> Record:
    plain = row.model_dump(exclude={"outline_mm", "segments"})
    segments = [segment.model_dump() for segment in row.segments]
    record = {**plain, "segments": segments, "held_mm": row.held_mm, "outline_mm": row.outline_mm.drawn_mm().tolist()}
    return record | {field.name: getattr(sizes, field.name, None) for field in fields(kind)}


def _punch(row: Punch) -> Record:
    return _tool(row, NoseOfPunch, row.nose if row.kind == "vee" else None)


def _die(row: Die) -> Record:
    return _tool(row, VeeOfDie, row.vee if row.kind == "vee" else None)


def _machine(row: Machine) -> Record:
    bodies = ("ram_outline_mm", "bed_outline_mm", "finger_outline_mm")
    return row.model_dump(exclude=set(bodies)) | {body: getattr(row, body).drawn_mm().tolist() for body in bodies}


def _gauges(row: GaugeFamily) -> Record:
    gauges = [{"gauge": number, "thickness_mm": row.thickness_mm(number)} for number in sorted(row.thickness_inch)]
    return {**row.model_dump(exclude={"thickness_inch"}), "gauges": gauges}


# What a row's record has beside or in place of its fields; other rows are their fields.
_RECORDS: dict[type[TableRow], Callable[[Any], Record]] = {
    Material: _material,
    Punch: _punch,
    Die: _die,
    Machine: _machine,
    GaugeFamily: _gauges,
}


def table_schema(table: str) -> dict[str, Any]:
    """The JSON Schema of one table's file; `shop` is that of shop.yaml. Raises KeyError for a table there is not."""
    if table == "shop":
        return {"$schema": DIALECT, **Defaults.model_json_schema(), "title": "shop.yaml"}
    row = ROWS[table].model_json_schema()
    parts = row.pop("$defs", {})
    row["properties"].pop("name")
    row["required"].remove("name")
    schema = {
        "$schema": DIALECT,
        "title": f"{table}.yaml",
        "description": "Rows by name.",
        "type": "object",
        "additionalProperties": row,
    }
    return {**schema, "$defs": parts} if parts else schema
