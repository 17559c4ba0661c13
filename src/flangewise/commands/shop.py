"""`shop`: the tables of the shop listed, copied out to edit, and edited ones checked."""

from pathlib import Path

import click

from flangewise.commands import Settings
from flangewise.commands.output import Printer, finding_records, format_option, put
from flangewise.commands.shop_measured import measured_command
from flangewise.commands.shop_tables import COLUMNS, table_text
from flangewise.faults import Fault, Unusable, name_fits
from flangewise.findings import Finding
from flangewise.shop import ROWS, TABLES, Die, Punch, Shop, copy_shop, listed, load_shop, named_findings


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
