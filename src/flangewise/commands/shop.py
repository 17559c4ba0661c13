"""`shop`: the tables of the shop listed, copied out to edit, edited ones checked, and what was learned from bends."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from flangewise import shop as room
from flangewise.commands import Settings, output
from flangewise.commands.columns import text_table
from flangewise.faults import Fault, Unusable, name_fits
from flangewise.units import written
from flangewise.words import look_up, phrase, say, word

_UNIT = re.compile(r"_(mpa|mm|deg|kn_per_m|kn|s)$")


@click.group("shop")
def command() -> None:
    """List the tables of the shop, copy them out to edit, check edited ones."""


@command.command("list")
@click.argument("table", metavar="TABLE")
@output.format_option
@click.pass_obj
def list_command(settings: Settings, table: str, fmt: str) -> None:
    """The rows of one table: materials, punches, dies, machines, handlers, boxes, gauges, least-radii or tolerances.

    In JSON, a row a line with the tool and machine outlines as points [toward the operator, up], for other programs to
    draw or check with.
    """
    name = _table_named(table)
    shop = room.load_shop(settings.shop_folder, {name})
    records = room.listed(shop, name)
    printer = output.Printer(settings, fmt, list(records[0]) if records else ["name"]).begun()
    printer.give_all(records, lambda units: table_text(name, records, units=units))


def _table_named(table: str) -> str:
    name = table.lower().replace("-", "_")
    if name not in room.ROWS:
        known = [known.replace("_", "-") for known in room.ROWS]
        raise Unusable([Fault(table, None, None, "shop list", "is no table of the shop", name_fits(table, known))])
    return name


@command.command("copy")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.pass_obj
def copy_command(settings: Settings, folder: Path) -> None:
    """Write the built-in tables to a new folder, comments and sources included; nothing is overwritten."""
    for file in room.copy_shop(folder):
        output.put(str(file))
    settings.say(f"edit them, check them with `flangewise shop check {folder}`, use them with --shop {folder}")


@command.command("check")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path), required=False)
@output.format_option
@click.pass_obj
def check_command(settings: Settings, folder: Path | None, fmt: str) -> None:
    """Read every table of a shop folder and report every fault, and tools that are not what is stamped on them.

    Without DIR, the shop given by --shop or FLANGEWISE_SHOP, or the built-in one.
    """
    shop = room.load_shop(folder or settings.shop_folder, room.TABLES)
    tools: tuple[room.Punch | room.Die, ...] = (*shop.punches.values(), *shop.dies.values())
    findings = [finding for tool in tools for finding in room.named_findings(tool)]
    place = "the built-in shop" if shop.folder is None else str(shop.folder)
    rows = {table: len(room.listed(shop, table)) for table in room.ROWS}
    counts = ", ".join(f"{count} {table.replace('_', ' ')}" for table, count in rows.items())
    told, records = f"{place}: no faults; {counts}", output.finding_records(findings)
    printer = output.Printer(settings, fmt, ("severity", "code", "where", "text"))
    printer.head()
    printer.give({"shop": place, "rows": rows, "findings": records}, lambda units: told, findings, rows=records)


def _heading(table: str, key: str) -> str:
    own = output.told("shop.rows")[table] if key == "name" else output.told("shop.headings").get(key)
    return own or _UNIT.sub("", key).replace("_", " ")


def table_text(table: str, records: Sequence[output.Record], *, units: str) -> str:
    """A table's rows in aligned columns, lengths in `units`."""
    keys = output.told("shop.columns")[table]
    lines = [line for record in records for line in _lines(table, record)]
    right = [i for i, key in enumerate(keys) if any(isinstance(line.get(key), (int, float)) for line in lines)]
    cells = [[_cell(key, line.get(key), units) for key in keys] for line in lines]
    return text_table([_heading(table, key) for key in keys], cells, right=right)


def _lines(table: str, record: output.Record) -> list[dict[str, Any]]:
    """Most rows are one line; those that hold a list of bands or gauges are one line for each."""
    parts = {"gauges": "gauges", "tolerances": "bands", "least_radii": "bands"}
    if table not in parts:
        return [dict(record)]
    said = _band if table == "least_radii" else dict
    return [{**record, **said(part)} for part in record[parts[table]]]


def _band(band: output.Record) -> dict[str, Any]:
    """A band of least radii: in thicknesses, or in mm."""
    unit, ends = ("t", "_t") if band["across_t"] is not None else ("mm", "_mm")
    radii = {way: band[way + ends] for way in ("across", "along")}
    said = {way: None if value is None else f"{value:g} {unit}" for way, value in radii.items()}
    return {"to_mm": band["to_mm"], **said}


def _cell(key: str, value: Any, units: str) -> str:
    if value is None:
        return output.NOTHING
    if isinstance(value, float) or (isinstance(value, int) and key != "gauge"):
        return written(key, float(value), units)
    return str(value)


@command.command("measured")
@output.format_option
@click.pass_obj
def measured_command(settings: Settings, fmt: str) -> None:
    """What is remembered of measured bends, key by key: how sure it is, and what it changed.

    Depth offset: how much deeper the machine goes than it shows. Springback: what the model's is multiplied by. Lots
    too far from what the others say are kept in the file, named here, and not used.
    """
    shop = room.load_shop(settings.shop_folder, {"materials", "tolerances"})
    measured = room.read_measured(shop.measured_file)
    printer = output.Printer(settings, fmt, list(output.told("measured.record"))).begun()
    depths = room.remembered_depths(measured, lambda material, thickness: _tolerance_mm(shop, material, thickness))
    deductions = room.remembered_deductions(measured)
    records = [*map(_record, depths), *map(_record, deductions)]

    def text(units: str) -> str:
        if not records:
            return word("measured.none")
        head = say(phrase("measured.head", count=len(measured.rows), file=str(shop.measured_file)))
        by_depth = output.told_table("measured.depths", map(_line, depths), units)
        by_deduction = output.told_table("measured.deductions", map(_line, deductions), units)
        return "\n\n".join((head, by_depth, by_deduction))

    printer.give_all(records, text)


def _tolerance_mm(shop: room.Shop, material: str, thickness_mm: float) -> float | None:
    if material not in shop.materials:
        return None
    return room.thickness_tolerance_mm(shop.tolerances, shop.materials[material].product, thickness_mm)


def _record(found: room.RememberedDepth | room.RememberedDeduction) -> dict[str, Any]:
    """A key with what is remembered of it: of a depth the last turn measured, of a deduction its own turn."""
    kind = "depth" if isinstance(found, room.RememberedDepth) else "deduction"
    turn_deg = found.turn_deg if isinstance(found, room.RememberedDepth) else float(found.key.turn_deg)
    values = {"found": found, "kind": kind, "turn_deg": turn_deg}
    lacking, paths = output.told("measured.lacking")[kind], output.told("measured.record")
    return {key: None if key in lacking else look_up(values, path) for key, path in paths.items()}


def _line(found: room.RememberedDepth | room.RememberedDeduction) -> dict[str, Any]:
    outliers = found.learned.outliers
    unused = f"; not used: {', '.join(outliers)}" if outliers else ""
    return {"found": found, "key": found.key, "known": found.learned, "unused": unused}
