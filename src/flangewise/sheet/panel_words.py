"""The words of a panel's sheet: its job in labelled values, and each step as the operator does it."""

from __future__ import annotations

import math
from typing import Any

from flangewise.part import BASE_FACE
from flangewise.punch_die import Station
from flangewise.setup import SetupStep, panel_step, side_stop_mm
from flangewise.sheet.data import Identity, Measure
from flangewise.sheet.hit_view import stand_of, stands_up_behind
from flangewise.sheet.job_words import blank_cells, head_cells, joined_text, segments_text, stock_cells
from flangewise.sheet.page_words import finding_lines, job_cautions, job_words
from flangewise.sheet.panel_data import PanelHit, PanelSheet
from flangewise.sheet.step_words import heading, measured, moves_before
from flangewise.sheet.wording import Wording
from flangewise.words import Phrase

# A side looks to the operator where it does within this of straight.
TOWARD_DEG = 50.0


def panel_words(sheet: PanelSheet, identity: Identity, wording: Wording) -> dict[str, Any]:
    """What the template prints by name: sentences and lists of them, said."""
    part, blank = sheet.part, sheet.blank
    sides = dict(zip(("along", "developed"), map(wording.size, blank.size_mm), strict=True))
    trap = any(stands_up_behind(blank, step.keyed, step.ordered) for step in sheet.steps)
    asked = job_cautions(sheet, trap=trap, wants_two=blank.wants_two, has_run=sheet.run is not None)
    return {
        **job_words(sheet, sorted({zone.allowance.rule for zone in blank.zones}), wording),
        "head": head_cells(part, identity, wording),
        "facts": [
            *stock_cells(sheet, part, wording),
            *blank_cells(part, "blank.panel-size", sides, None, blank.mass_kg, wording),
        ],
        "stands": [
            [_stands(station, wording) for station in sheet.stations_of(mounting)] for mounting in sheet.mountings
        ],
        "holes": "",
        "seen": "",
        "misload": "",
        "cautions": [*map(wording.said, asked), *finding_lines(sheet, "caution", wording)],
    }


def _stands(station: Station, wording: Wording) -> str:
    """Where a station stands on the bed, its segments from left to right with ears and gaps; where the die stands."""
    punch = [
        wording.word(f"tool.ear-{each.ear}", length=wording.length(each.length_mm, 1.0))
        if each.ear is not None
        else wording.length(each.length_mm, 1.0)
        for each in station.segments
    ]
    return wording.word(
        "panel.station",
        start=wording.length(station.from_mm, 1.0),
        end=wording.length(station.to_mm, 1.0),
        punch=joined_text(station.segments, punch, wording),
        die_start=wording.length(station.die_from_mm, 1.0),
        die_end=wording.length(station.die_to_mm, 1.0),
        die=segments_text(station.die_segments, wording),
    )


def panel_moves(step: PanelHit, wording: Wording, *, first: bool) -> list[tuple[tuple[str, float | None], str]]:
    """What is done with the part before a hit: the sign of each move, with the angle of a turn, and its words."""
    turns = [_turned_deg(move) for move in step.moves] or [None]
    said = moves_before(step, wording, first=first)
    return [((code, turn_deg), words) for turn_deg, (code, words) in zip(turns, said, strict=True)]


def _turned_deg(move: Phrase) -> float | None:
    """How far a move turns the part in its plane, counterclockwise positive; None for one that does not, or half."""
    turn_deg = dict(move.values).get("turn_deg")
    if not isinstance(turn_deg, float):
        return None
    return -turn_deg if move.code == "move.turn-right" else turn_deg


def panel_heading(sheet: PanelSheet, step: PanelHit, wording: Wording) -> str:
    """The faces that the hit bends up, how far, and which way."""
    faces = ", ".join(sheet.name(face) for face in step.ordered.operation.faces)
    return f"{faces}: {heading(step, wording)}"


def panel_gauged(step: SetupStep, wording: Wording) -> str:
    """What of the part is at the stops."""
    gauged = panel_step(step.planned).gauged
    if step.hit == "flatten":
        return wording.word("step.hem-by-hand")
    if gauged is None:
        return wording.word("step.gauged", edge=wording.word("gauge.none"))
    told = wording.word(f"panel.gauged-{gauged.on}", face=gauged.face_name)
    z_mm = side_stop_mm(step)
    if gauged.side is None or z_mm is None:
        return told
    place = wording.length(z_mm, 0.1)
    return f"{told} · {wording.word(f'panel.side-stop-{gauged.side.side}', z=place, face=gauged.side.face_name)}"


def panel_side(sheet: PanelSheet, step: PanelHit, wording: Wording) -> str:
    """Which face is up and which side looks to the operator."""
    side = operator_side(sheet, step)
    told = [wording.word(f"face-{step.keyed.marked_face}")]
    return ", ".join([*told, *([] if side is None else [wording.word("panel.operator-side", face=side)])])


def operator_side(sheet: PanelSheet, step: PanelHit) -> str | None:
    """The flange of the base that looks to the operator; None where none does."""
    stand = stand_of(step.ordered, sheet.blank.thickness_mm)
    best: tuple[float, str] | None = None
    for zone in sheet.blank.zones:
        if zone.face_from != BASE_FACE:
            continue
        (x, y), (to_x, to_y) = zone.line_mm
        outward = (-(to_y - y), to_x - x, 0.0)
        turned = stand.turn([outward])[0]
        off_deg = math.degrees(math.atan2(abs(float(turned[0])), -float(turned[1])))
        if off_deg < TOWARD_DEG and (best is None or off_deg < best[0]):
            best = off_deg, sheet.name(zone.face_to)
    return None if best is None else best[1]


def panel_place(step: PanelHit, wording: Wording) -> str:
    """Where on the bed the left end of the bend line lies, and that of the punch row over it."""
    line, row = step.keyed.part_from_mm, step.keyed.station.from_mm
    return wording.word("panel.place", line=wording.length(line, 0.1), row=wording.length(row, 0.1))


def panel_measured(row: Measure, wording: Wording) -> str:
    """What a row of the record measures: a bend by its letter, a size by its name."""
    return wording.said(row.what) if row.leg is not None else measured(row, wording)
