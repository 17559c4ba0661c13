"""The developed blank of part files, as numbers and as DXF."""

from pathlib import Path
from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.blank import bend_records, blank_record, blank_text
from flangewise.commands.output import Printer, finding_records, format_option
from flangewise.commands.paths import for_each_part, paths_argument
from flangewise.findings import exit_status
from flangewise.jobs import Job, worked_out
from flangewise.part import Part, read_parts
from flangewise.pattern import dxf_bytes
from flangewise.shop import Shop, load_shop
from flangewise.writing import write_whole

_COLUMNS = (
    "part",
    "material",
    "thickness_mm",
    "developed_mm",
    "along_bends_mm",
    "area_mm2",
    "mass_kg",
    "lines_mm",
    "turns_deg",
    "toward",
    "refused",
)


@click.command("flat", short_help="The developed blank of part files.")
@paths_argument
@click.option("--dxf", "dxf", metavar="DIR", type=click.Path(path_type=Path), help="Write DIR/PART.dxf for each part.")
@format_option
@click.pass_obj
def command(settings: Settings, paths: tuple[str, ...], dxf: Path | None, fmt: str) -> int:
    """The flat blank of each part: its size, where its bend lines and zones lie, and what each bend takes.

    PATH is a part file, a folder of part files, or - for standard input. Lines are measured from the start edge.
    """
    shop = load_shop(settings.shop_folder)
    found = read_parts(paths, shop)
    printer = Printer(settings, fmt, _COLUMNS)
    printer.begin()
    return for_each_part(found, lambda part: _one(part, shop, printer, dxf), settings=settings)


def _one(part: Part, shop: Shop, printer: Printer, folder: Path | None) -> int:
    job = worked_out(part, shop)
    record = {
        "part": part.name,
        "blank": blank_record(job.pattern),
        "bends": bend_records(job.pattern),
        "findings": finding_records(job.findings),
    }
    printer.give(record, lambda units: _text(job, units), job.findings, rows=[_row(job, record)], part=part.name)
    if folder is not None and job.pattern is not None:
        write_whole(folder / f"{part.name}.dxf", dxf_bytes(job.pattern, shop.defaults.layers))
    return exit_status(job.findings)


def _row(job: Job, record: dict[str, Any]) -> dict[str, Any]:
    bends = record["bends"]
    return {
        "part": job.part.name,
        "material": job.part.material,
        "thickness_mm": job.part.thickness_mm,
        **(record["blank"] or {}),
        "lines_mm": [bend["line_mm"] for bend in bends],
        "turns_deg": [bend["turn_deg"] for bend in bends],
        "toward": [bend["toward"] for bend in bends],
        "refused": exit_status(job.findings) != 0,
    }


def _text(job: Job, units: str) -> str:
    if job.pattern is None:
        return ""
    return blank_text(job.pattern, material=job.part.material, units=units) + "\n\n"
