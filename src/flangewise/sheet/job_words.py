"""What a sheet says of its job in labelled values: the head, the sheet and the blank, the tools to collect."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from flangewise.part import Part
from flangewise.punch_die import Mounting, SegmentUse
from flangewise.sheet.data import Identity, Printed, SheetData
from flangewise.sheet.wording import Wording
from flangewise.shop import Die, Punch

if TYPE_CHECKING:
    from flangewise.part import PanelPart

Cell = tuple[str, str]
"""A label and the value under it."""


def head_cells(part: Part | PanelPart, identity: Identity, wording: Wording) -> list[Cell]:
    """The job card; title and revision stand in the heading, and spares beside the quantity."""
    found = []
    for key, value in part.job_card.items():
        if key in ("title", "revision", "spares") or not value:
            continue
        said = str(value)
        if key == "quantity" and part.spares:
            said = wording.word("quantity-spares", quantity=said, spares=str(part.spares))
        found.append((wording.word(f"head.{key}"), said))
    return [*found, *([(wording.word("head.printed"), identity.date)] if identity.date else [])]


def fact_cells(sheet: SheetData, wording: Wording) -> list[Cell]:
    """Machine and handler, the material, the blank as it comes from the cutter, and what to look for on it."""
    part, pattern, size = sheet.part, sheet.pattern, wording.size
    sides = {"along": size(pattern.along_bends_mm), "developed": size(pattern.developed_mm)}
    measured_mm = part.measured_thickness_mm
    return [
        *stock_cells(sheet, part, wording),
        *cells_of({"material.computed-with": "" if measured_mm is None else size(measured_mm)}, wording),
        *blank_cells(part, "blank.size", sides, pattern.diagonal_mm, pattern.mass_kg, wording),
    ]


def stock_cells(sheet: Printed, part: Part | PanelPart, wording: Wording) -> list[Cell]:
    """Machine and handler, and the material."""
    cells = {
        "head.machine": sheet.machine.name,
        "head.handler": sheet.handler.name,
        "material.name": sheet.material.name,
        "material.thickness": wording.thickness(part, sheet.thickness_tolerance_mm),
    }
    return cells_of(cells, wording)


def blank_cells(
    part: Part | PanelPart,
    code: str,
    sides: Mapping[str, str],
    diagonal_mm: float | None,
    mass_kg: float,
    wording: Wording,
) -> list[Cell]:
    """The blank by its two sizes, the word for them, its diagonal and mass, and what to look for on it."""
    cells = {
        code: wording.word("blank.size-of", **sides),
        "blank.diagonal": "" if diagonal_mm is None else wording.size(round(diagonal_mm, 1)),
        "blank.mass": wording.written("mass_kg", mass_kg),
        "material.grain": wording.word(f"grain-{part.grain}") if part.grain != "any" else "",
        "material.good-face": wording.word(f"face-is-{part.good_face}") if part.good_face != "none" else "",
        "material.burr": wording.word(f"burr-is-{part.burr}") if part.burr != "unknown" else "",
        "material.film": wording.word(f"film-is-{part.film}") if part.film != "none" else "",
    }
    return cells_of(cells, wording)


def cells_of(cells: Mapping[str, str], wording: Wording) -> list[Cell]:
    """Values under the words for them, those that are empty left out."""
    return [(wording.word(code), value) for code, value in cells.items() if value]


def tool_cells(mounting: Mounting, wording: Wording) -> tuple[list[Cell], list[Cell]]:
    """A pair as it is fetched: the punch and how it is set, the die; nothing where a tool has no such size."""
    tools, size = mounting.pair.tools, wording.size
    if tools.punch is None or tools.die is None:
        return [], []
    is_vee = tools.opening_mm is not None
    punch = {
        "tool.punch": tools.punch.name,
        "tool.set": wording.word("tool.turned") if mounting.turned else "",
        "tool.nose": "" if tools.nose_radius_mm is None else size(tools.nose_radius_mm),
        "tool.angle": wording.angle(tools.punch.nose.included_deg) if is_vee and tools.punch.nose is not None else "",
        "tool.height": size(tools.punch.height_mm),
    }
    die = {
        "tool.die": tools.die.name,
        "tool.opening": "" if tools.named_opening_mm is None else size(tools.named_opening_mm),
        "tool.shoulder": "" if tools.shoulder_radius_mm is None else size(tools.shoulder_radius_mm),
        "tool.angle": wording.angle(tools.die.vee.included_deg) if is_vee and tools.die.vee is not None else "",
        "tool.height": size(tools.die.height_mm),
    }
    first, second = (_with_rack(cells, tool, wording) for cells, tool in ((punch, tools.punch), (die, tools.die)))
    return first, second


def _with_rack(cells: dict[str, str], tool: Punch | Die, wording: Wording) -> list[Cell]:
    """A tool's cells; behind the word for it stands where it is kept, where the shop says so."""
    (what, name), *others = ((wording.word(code), value) for code, value in cells.items() if value)
    return [(wording.word("tool.in-rack", tool=what, rack=tool.rack) if tool.rack else what, name), *others]


def segments_text(segments: Sequence[SegmentUse], wording: Wording) -> str:
    """The segments of a tool, left to right, in whole mm, and the gaps between them."""
    return joined_text(segments, [wording.length(segment.length_mm, 1.0) for segment in segments], wording)


def joined_text(segments: Sequence[SegmentUse], said: Sequence[str], wording: Wording) -> str:
    """Segments as they are said, left to right, with how far apart they stand where they do."""
    gaps = (
        [wording.word("tool.gap", width=wording.length(segment.apart_mm, 0.1))] if segment.apart_mm else []
        for segment in segments
    )
    return " + ".join(text for gap, own in zip(gaps, said, strict=True) for text in (*gap, own))
