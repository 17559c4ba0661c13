"""The developed blank of part files, as numbers and as DXF."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.blank import bend_records, blank_record, blank_text
from flangewise.commands.output import (
    csv_text,
    finding_records,
    format_option,
    put,
    put_json,
    tell_example_shop,
    tell_findings,
)
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
    tell_example_shop(settings, fmt=fmt)
    if fmt == "csv":
        put(csv_text(_COLUMNS, ()))
    return for_each_part(
        found, lambda part: _one(part, shop, settings=settings, folder=dxf, fmt=fmt), settings=settings
    )


def _one(part: Part, shop: Shop, *, settings: Settings, folder: Path | None, fmt: str) -> int:
    job = worked_out(part, shop)
    _GIVE[fmt](job, settings)
    if folder is not None and job.pattern is not None:
        write_whole(folder / f"{part.name}.dxf", dxf_bytes(job.pattern, shop.defaults.layers))
    return exit_status(job.findings)


def _give_json(job: Job, settings: Settings) -> None:
    put_json(
        {
            "part": job.part.name,
            "blank": blank_record(job.pattern),
            "bends": bend_records(job.pattern),
            "findings": finding_records(job.findings),
        }
    )


def _give_csv(job: Job, settings: Settings) -> None:
    bends = bend_records(job.pattern)
    row: dict[str, Any] = {
        "part": job.part.name,
        "material": job.part.material,
        "thickness_mm": job.part.thickness_mm,
        **(blank_record(job.pattern) or {}),
        "lines_mm": [bend["line_mm"] for bend in bends],
        "turns_deg": [bend["turn_deg"] for bend in bends],
        "toward": [bend["toward"] for bend in bends],
        "refused": exit_status(job.findings) != 0,
    }
    put(csv_text(_COLUMNS, [row], head=False))


def _give_text(job: Job, settings: Settings) -> None:
    if job.pattern is not None:
        put(blank_text(job.pattern, material=job.part.material, units=settings.units) + "\n\n")
    tell_findings(job.findings, settings, part=job.part.name)


_GIVE = {"json": _give_json, "csv": _give_csv, "text": _give_text}
