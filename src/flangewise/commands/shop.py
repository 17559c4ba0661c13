"""`shop`: the tables of the shop listed, copied out to edit, and edited ones checked."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.output import NOTHING, Printer, Record, finding_records, format_option, put, text_table
from flangewise.commands.shop_measured import measured_command
from flangewise.faults import Fault, Unusable, name_fits
from flangewise.findings import Finding
from flangewise.shop import ROWS, TABLES, Die, Punch, Shop, copy_shop, listed, load_shop, named_findings
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


@click.group("shop")
def command() -> None:
    """List the tables of the shop, copy them out to edit, check edited ones."""


command.add_command(measured_command)


@command.command("list")
@click.argument("table", metavar="TABLE")
@format_option
@click.pass_obj
def list_command(settings: Settings, table: str, fmt: str) -> None:
    """The rows of one table: materials, punches, dies, machines, handlers, gauges, least-radii or tolerances.

    In JSON, a row a line with the tool and machine outlines as points [toward the operator, up], for other programs to
    draw or check with.
    """
    name = _table_named(table)
    shop = load_shop(settings.shop_folder, {name})
    records = listed(shop, name)
    printer = Printer(settings, fmt, list(records[0]) if records else ["name"])
    printer.begin()
    printer.give_all(records, lambda units: table_text(name, records, units=units))


def _table_named(table: str) -> str:
    name = table.lower().replace("-", "_")
    if name not in COLUMNS:
        known = [known.replace("_", "-") for known in COLUMNS]
        raise Unusable([Fault(table, None, None, "shop list", "is no table of the shop", name_fits(table, known))])
    return name


@command.command("copy")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.pass_obj
def copy_command(settings: Settings, folder: Path) -> None:
    """Write the built-in tables to a new folder, comments and sources included; nothing is overwritten."""
    for file in copy_shop(folder):
        put(str(file))
    settings.say(f"edit them, check them with `flangewise shop check {folder}`, use them with --shop {folder}")


@command.command("check")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path), required=False)
@format_option
@click.pass_obj
def check_command(settings: Settings, folder: Path | None, fmt: str) -> None:
    """Read every table of a shop folder and report every fault, and tools that are not what is stamped on them.

    Without DIR, the shop given by --shop or FLANGEWISE_SHOP, or the built-in one.
    """
    shop = load_shop(folder or settings.shop_folder, TABLES)
    findings = _findings(shop)
    place = "the built-in shop" if shop.folder is None else str(shop.folder)
    rows = {table: len(listed(shop, table)) for table in ROWS}
    counts = ", ".join(f"{count} {table.replace('_', ' ')}" for table, count in rows.items())
    told, records = f"{place}: no faults; {counts}", finding_records(findings)
    printer = Printer(settings, fmt, ("severity", "code", "where", "text"))
    printer.head()
    printer.give({"shop": place, "rows": rows, "findings": records}, lambda units: told, findings, rows=records)


def _findings(shop: Shop) -> tuple[Finding, ...]:
    tools: tuple[Punch | Die, ...] = (*shop.punches.values(), *shop.dies.values())
    return tuple(finding for tool in tools for finding in named_findings(tool))


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
