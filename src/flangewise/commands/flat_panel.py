"""The blank of a panel as `flat` gives it: its size, every bend line by its two ends, its tools and its force."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from flangewise.commands.output import BENT, NOTHING, Printer, bare, finding_records, told_lines, told_table, write_out
from flangewise.findings import exit_status
from flangewise.jobs import PanelJob, panel_worked_out
from flangewise.part import PanelPart
from flangewise.pattern import BendZone, Blank, DrawnPanelBlank, PanelBlank, dxf_bytes
from flangewise.shop import Machine, Shop

# Columns that a table has beside those of sections where there are panels in it; the lists hold an entry a bend.
_IN_BENDS = {
    "faces": "face",
    "line_ends_mm": "line_ends_mm",
    "lengths_mm": "length_mm",
    "punches": "punch",
    "dies": "die",
    "forces_kn": "force_kn",
}
PANEL_COLUMNS = ("size_mm", "corner_mm", *_IN_BENDS)


def give_panel(
    part: PanelPart, shop: Shop, printer: Printer, *, folder: Path | None, draw: Callable[[Blank, Machine], None]
) -> int:
    """The panel's blank told, its DXF written and drawn where that is asked for; the exit status."""
    job = panel_worked_out(part, shop)
    bends = _bend_records(job)
    record = {
        "part": part.name,
        "blank": panel_blank_record(job.blank),
        "bends": bends,
        "machine": job.machine.name,
        **({"finished": _finished_records(job.blank)} if isinstance(job.blank, DrawnPanelBlank) else {}),
        "findings": finding_records(job.findings),
    }

    def text(units: str) -> str:
        return "" if job.blank is None else _text(job, bends, units) + "\n\n"

    printer.give(record, text, job.findings, rows=[_row(job, record)], part=part.name)
    if folder is not None and job.blank is not None:
        write_out(folder / f"{part.name}.dxf", dxf_bytes(job.blank, shop.defaults.layers), printer.settings)
    if job.blank is not None:
        draw(job.blank, job.machine)
    return exit_status(job.findings)


def panel_blank_record(blank: PanelBlank | None) -> dict[str, Any] | None:
    """Size, area and mass; what only a section has is not known of a panel."""
    if blank is None:
        return None
    sizes = {"developed_mm": None, "along_bends_mm": None, "area_mm2": blank.area_mm2, "mass_kg": blank.mass_kg}
    return {**sizes, "size_mm": blank.size_mm, "corner_mm": blank.corner_mm}


def _finished_records(blank: DrawnPanelBlank) -> list[dict[str, Any]]:
    """What the faces of a drawn blank come to: with the tools named, and with the radii asked for."""
    return [
        {"face": each.face, "size_mm": each.size_mm, "asked_mm": each.asked_mm, "wanted_mm": each.wanted_mm or None}
        for each in blank.finished
    ]


def _bend_records(job: PanelJob) -> list[dict[str, Any]]:
    if job.blank is None:
        return []
    names = {face.number: face.name for face in job.blank.faces}
    return [_bend_record(job, zone, names) for zone in job.blank.zones]


def _bend_record(job: PanelJob, zone: BendZone, names: dict[int, str]) -> dict[str, Any]:
    """One bend: its line from the left end to the right, seen from outside the part."""
    pair, taken = job.pairs.get(zone.bend), zone.allowance
    right, left = zone.line_mm
    return {
        "bend": zone.bend if zone.label == str(zone.bend) else zone.label,
        "face": names[zone.face_to],
        "line_mm": None,
        "zone_mm": None,
        "line_ends_mm": (left, right),
        "length_mm": zone.length_mm,
        "turn_deg": zone.turn_deg,
        "toward": zone.toward,
        "inside_radius_mm": zone.inside_radius_mm,
        **{key: getattr(taken, key) for key in ("allowance_mm", "setback_mm", "deduction_mm", "k_factor")},
        "allowance_from": taken.rule,
        "punch": None if pair is None else pair.tools.punch_name,
        "die": None if pair is None else pair.tools.die_name,
        "force_kn_per_m": None if pair is None else pair.limit_force_kn_per_m,
        "force_kn": None if pair is None else pair.force_kn(zone.length_mm),
    }


def _row(job: PanelJob, record: dict[str, Any]) -> dict[str, Any]:
    bends = record["bends"]
    return {
        "part": job.part.name,
        "material": job.part.material,
        "thickness_mm": job.part.thickness_mm,
        **(record["blank"] or {}),
        "turns_deg": [bend["turn_deg"] for bend in bends],
        "toward": [bend["toward"] for bend in bends],
        **{column: [bend[key] for bend in bends] for column, key in _IN_BENDS.items()},
        "refused": exit_status(job.findings) != 0,
    }


def _text(job: PanelJob, bends: list[dict[str, Any]], units: str) -> str:
    """The blank for people: its size, then a line for each bend line."""
    values = {"blank": job.blank, "material": job.part.material, "machine": job.machine.name}
    records = [
        {
            **bend,
            "from": bare(bend["line_ends_mm"][0], units),
            "to": bare(bend["line_ends_mm"][1], units),
            "way": BENT[bend["toward"]],
            "punch": bend["punch"] or NOTHING,
            "die": bend["die"] or NOTHING,
        }
        for bend in bends
    ]
    told = f"{told_lines('flat.panel.lines', values, units)}\n{told_table('flat.panel.bends', records, units)}"
    if not isinstance(job.blank, DrawnPanelBlank):
        return told
    sizes = [
        {
            "face": each.face,
            "size": bare(each.size_mm, units, " × "),
            "asked": bare(each.asked_mm, units, " × "),
            "wanted": bare(each.wanted_mm, units, " × ") or NOTHING,
        }
        for each in job.blank.finished
    ]
    return f"{told}\n\n{told_table('flat.drawn.finished', sizes, units)}"
