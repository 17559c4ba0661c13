"""The developed blank of part files, as numbers and as DXF."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flangewise.commands import Settings
from flangewise.commands.brief import Brief
from flangewise.commands.crews import one_job_option
from flangewise.commands.looking_on import USUAL_S
from flangewise.commands.output import (
    BENT,
    Printer,
    bare,
    finding_records,
    format_option,
    told_lines,
    told_table,
    write_out,
)
from flangewise.commands.paths import SVG_ENDING, on_each_part, paths_argument
from flangewise.findings import exit_status
from flangewise.jobs import Job, Remembered, worked_out
from flangewise.part import Part
from flangewise.pattern import BendZone, Blank, FlatPattern, dxf_bytes
from flangewise.sequence import watch_for
from flangewise.shop import Machine, Shop

if TYPE_CHECKING:
    from flangewise.part import PanelPart

DXF_ENDING = ".dxf"
SIZES = ("developed_mm", "along_bends_mm", "area_mm2", "mass_kg")
# Columns with a number for each bend line.
_IN_BENDS = {"lines_mm": "line_mm", "turns_deg": "turn_deg", "toward": "toward"}
_COLUMNS = ("part", "material", "thickness_mm", *SIZES, *_IN_BENDS, "refused")


_SVG = "Draw the blank in plan: to FILE.svg, or as PART.svg to a folder, there with a panel as it is finished."


@click.command("flat", short_help="The developed blank of part files.")
@paths_argument
@click.option("--dxf", "dxf", metavar="DIR", type=click.Path(path_type=Path), help="Write DIR/PART.dxf for each part.")
@click.option("--svg", "svg", metavar="FILE", type=click.Path(path_type=Path), help=_SVG)
@one_job_option
@format_option
@click.pass_obj
def command(settings: Settings, paths: tuple[str, ...], dxf: Path | None, svg: Path | None, fmt: str, jobs: int) -> int:
    """The flat blank of each part: its size, where its bend lines and zones lie, and what each bend takes.

    PATH is a part file, a folder of part files, or - for standard input. Lines are measured from the start edge, those
    of a panel from the near left corner of its base.
    """

    def printer(panels: bool) -> Printer:
        columns: tuple[str, ...] = _COLUMNS
        if panels:
            from flangewise.commands.flat_panel import PANEL_COLUMNS

            columns = (*_COLUMNS, *PANEL_COLUMNS)
        return Printer(settings, fmt, columns, Brief(settings))

    def draw(blank: Blank, machine: Machine) -> None:
        if svg is not None:
            from flangewise.commands.flat_svg import draw_blank

            draw_blank(blank, machine, svg, settings)

    def panel(part: PanelPart, shop: Shop, printer: Printer) -> int:
        from flangewise.commands.flat_panel import give_panel

        return give_panel(part, shop, printer, folder=dxf, draw=draw)

    if dxf is not None and dxf.suffix.lower() == DXF_ENDING:
        raise click.UsageError(f"--dxf takes a folder, into which PART.dxf is written: {dxf.name} is a file's name")
    into = [folder for folder in (dxf, svg) if folder is not None and folder.suffix.lower() != SVG_ENDING]
    return on_each_part(
        paths,
        settings,
        printer,
        partial(_one, work=Remembered(worked_out), folder=dxf, draw=draw),
        panel,
        jobs=jobs,
        into=into,
    )


def _one(
    part: Part,
    shop: Shop,
    printer: Printer,
    *,
    work: Remembered,
    folder: Path | None,
    draw: Callable[[Blank, Machine], None],
) -> int:
    job = work(part, shop, watch_for(USUAL_S))

    def text(units: str) -> str:
        return "" if job.pattern is None else blank_text(job.pattern, material=part.material, units=units) + "\n\n"

    record = {
        "part": part.name,
        "blank": blank_record(job.pattern),
        "bends": bend_records(job.pattern),
        "findings": finding_records(job.findings),
    }
    printer.give(record, text, job.findings, rows=[_row(job, record)], part=part.name)
    if folder is not None and job.pattern is not None:
        write_out(folder / f"{part.name}.dxf", dxf_bytes(job.pattern, shop.defaults.layers), printer.settings)
    if job.pattern is not None:
        draw(job.pattern, job.machine)
    return exit_status(job.findings)


def _row(job: Job, record: dict[str, Any]) -> dict[str, Any]:
    return {
        "part": job.part.name,
        "material": job.part.material,
        "thickness_mm": job.part.thickness_mm,
        **(record["blank"] or {}),
        **{column: [bend[key] for bend in record["bends"]] for column, key in _IN_BENDS.items()},
        "refused": exit_status(job.findings) != 0,
    }


def blank_record(pattern: FlatPattern | None) -> dict[str, float] | None:
    """Size, area and mass of the blank; None where there is none."""
    return None if pattern is None else {name: getattr(pattern, name) for name in SIZES}


def bend_records(pattern: FlatPattern | None) -> list[dict[str, Any]]:
    """The bend lines from the start edge on, measured on the flat blank. An offset has two, such as 3a and 3b."""
    return [_bend_record(zone) for zone in pattern.zones] if pattern is not None else []


def _bend_record(zone: BendZone) -> dict[str, Any]:
    line_mm, half_mm, taken = zone.line_mm[0][1], zone.allowance.allowance_mm / 2, zone.allowance
    return {
        "bend": zone.bend if zone.label == str(zone.bend) else zone.label,
        "line_mm": line_mm,
        "zone_mm": [line_mm - half_mm, line_mm + half_mm],
        "turn_deg": zone.turn_deg,
        "toward": zone.toward,
        "inside_radius_mm": zone.inside_radius_mm,
        **{key: getattr(taken, key) for key in ("allowance_mm", "setback_mm", "deduction_mm", "k_factor")},
        "allowance_from": taken.rule,
    }


def blank_text(pattern: FlatPattern, *, material: str, units: str) -> str:
    """The blank for people: its size, then a line for each bend line."""
    bends = bend_records(pattern)
    by_bend = [str(each["allowance_from"]) for each in bends]
    named = (f"{rule} (bend {each['bend']})" for rule, each in zip(by_bend, bends, strict=True))
    rules = by_bend[0] if len(set(by_bend)) == 1 else ", ".join(named)
    size = told_lines("flat.lines", {"blank": pattern, "material": material, "rules": rules, "units": units}, units)
    records = [
        {
            **each,
            "line": bare([each["line_mm"]], units),
            **dict(zip(("from", "to"), (bare([end], units) for end in each["zone_mm"]), strict=True)),
            **{key: bare([each[f"{key}_mm"]], units) for key in ("allowance", "deduction")},
            "radius": bare([each["inside_radius_mm"]], units),
            "way": BENT[each["toward"]],
        }
        for each in bends
    ]
    return f"{size}\n{told_table('flat.bends', records, units)}"
