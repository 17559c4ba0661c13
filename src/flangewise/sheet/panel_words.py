"""The words of a panel's sheet: its job in labelled values, and each step as the operator does it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from flangewise.findings import Severity
from flangewise.part import BASE_FACE
from flangewise.punch_die import Station
from flangewise.setup import Instruction, Load, SetupStep, first_piece
from flangewise.sheet.data import Identity
from flangewise.sheet.hit_view import stand_of
from flangewise.sheet.job_words import Cell, segments_text, tool_cells
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.page_words import placed
from flangewise.sheet.panel_data import PanelSheet
from flangewise.sheet.step_words import lesser_cells, sentence
from flangewise.sheet.wording import Wording
from flangewise.words import catalogue, phrase

JOB = ("drawing", "job", "quantity", "due")
# A side looks to the operator where it does within this of straight.
TOWARD_DEG = 50.0
SHORT_MM = 0.05


def panel_words(sheet: PanelSheet, identity: Identity, wording: Wording) -> dict[str, Any]:
    """What the template prints by name: sentences and lists of them, said."""
    governing, *others = [_load(load, wording) for load in sorted(sheet.loads, key=lambda each: -each.share)] or [""]
    limits = wording.word("limit.governing", line=governing) if governing else wording.word("limit.none")
    notes = " ".join(_finding_lines(sheet, "note", wording))
    told = [f"{wording.word('section.limits')} {' · '.join(others)}." if others else ""]
    told.append(f"{wording.word('section.notes')} {notes}" if notes else "")
    return {
        "head": list(_head(sheet, identity, wording)),
        "facts": list(_facts(sheet, wording)),
        "tools": [tool_cells(mounting, wording) for mounting in sheet.mountings],
        "stands": [
            [_stands(station, wording) for station in sheet.stations_of(mounting)] for mounting in sheet.mountings
        ],
        "seats": _seats(sheet, wording),
        "checked": sentence(limits),
        "cautions": _finding_lines(sheet, "caution", wording),
        "first_piece": [sentence(wording.said(each)) for each in first_piece(sheet.steps)],
        "run": wording.word(
            "run.cycle",
            seconds=wording.plain(sheet.setup.cycle_s, 0),
            minutes=wording.plain(sheet.setup.set_up_s / 60, 0),
        ),
        "told_last": " ".join(each for each in told if each),
    }


def _head(sheet: PanelSheet, identity: Identity, wording: Wording) -> Iterator[Cell]:
    for key in JOB:
        value = getattr(sheet.part, key)
        if value:
            said = str(value)
            if key == "quantity" and sheet.part.spares:
                said = wording.word("quantity-spares", quantity=said, spares=str(sheet.part.spares))
            yield wording.word(f"head.{key}"), said
    if identity.date:
        yield wording.word("head.printed"), identity.date


def _facts(sheet: PanelSheet, wording: Wording) -> Iterator[Cell]:
    part, size = sheet.part, wording.size
    thickness = size(part.thickness_mm)
    if sheet.thickness_tolerance_mm is not None:
        thickness += f" ± {size(sheet.thickness_tolerance_mm)}"
    sides = dict(zip(("along", "developed"), map(size, sheet.blank.size_mm), strict=True))
    cells = {
        "head.machine": sheet.machine.name,
        "head.handler": sheet.handler.name,
        "material.name": sheet.material.name,
        "material.thickness": thickness,
        "blank.panel-size": wording.word("blank.size-of", **sides),
        "blank.mass": wording.written("mass_kg", sheet.blank.mass_kg),
        "material.grain": wording.word(f"grain-{part.grain}") if part.grain != "any" else "",
        "material.good-face": wording.word(f"face-is-{part.good_face}") if part.good_face != "none" else "",
        "material.burr": wording.word(f"burr-is-{part.burr}") if part.burr != "unknown" else "",
        "material.film": wording.word(f"film-is-{part.film}") if part.film != "none" else "",
    }
    yield from ((wording.word(code), value) for code, value in cells.items() if value)


def _stands(station: Station, wording: Wording) -> str:
    """Where a station stands on the bed, with its segments from left to right, ears named."""
    return wording.word(
        "tool.station",
        start=wording.length(station.from_mm, 1.0),
        end=wording.length(station.to_mm, 1.0),
        punch=" + ".join(
            wording.word(f"tool.ear-{each.ear}", length=wording.length(each.length_mm, 1.0))
            if each.ear is not None
            else wording.length(each.length_mm, 1.0)
            for each in station.segments
        ),
        die=segments_text(station.die_segments, wording),
    )


def _seats(sheet: PanelSheet, wording: Wording) -> list[str]:
    """Expected shut height of each pair."""
    heights = [wording.length(each.pair.tools.shut_height_mm, 0.01) for each in sheet.mountings]
    if len(set(heights)) == 1:
        return [wording.word("touch-off.seats", height=heights[0])]
    return [
        wording.word("touch-off.pair", number=str(number), height=height)
        for number, height in enumerate(heights, start=1)
    ]


def _finding_lines(sheet: PanelSheet, severity: Severity, wording: Wording) -> list[str]:
    """Findings of that weight but those that stand with their step."""
    there = {each for step in sheet.steps for each in _of_step(sheet, step)}
    return placed([each for each in sheet.findings if each.severity == severity and each not in there], wording)


def _of_step(sheet: PanelSheet, step: SetupStep) -> list[Any]:
    """Cautions of the bends that a step makes."""
    places = {phrase("place.bend", number=bend) for bend in step.bends}
    return [each for each in sheet.findings if each.severity == "caution" and each.where in places]


def panel_signs(sheet: PanelSheet, step: SetupStep, wording: Wording) -> list[str]:
    """The cautions of a step."""
    return [sentence(wording.said(each.phrase)) for each in _of_step(sheet, step)]


def _load(load: Load, wording: Wording) -> str:
    load_said, most_said = (wording.written(f"load_{load.unit}", each) for each in (load.load, load.most))
    values = {"load": load_said, "most": most_said, "share": wording.plain(load.share * 100, 0)}
    return wording.word(f"limit.{load.unit}", body=load.body, step=str(load.step), **values)


def panel_moves(step: SetupStep, wording: Wording, *, first: bool) -> list[tuple[str, float | None, str]]:
    """What is done with the part before a hit: the code of each move's sign, the angle of a turn, its words."""
    moves = [(move.words.code, _turned_deg(move), _move_words(move, wording)) for move in step.moves]
    return moves or [("", None, wording.word("move-first" if first else "move-none"))]


def _move_words(move: Instruction, wording: Wording) -> str:
    code = move.words.code
    if f"sheet.{code}" in catalogue(wording.lang):
        return wording.said(phrase(f"sheet.{code}", **dict(move.words.values)))
    return sentence(wording.said(move.words))


def _turned_deg(move: Instruction) -> float | None:
    """How far a move turns the part in its plane, counterclockwise positive; None for one that does not, or half."""
    turn_deg = dict(move.words.values).get("turn_deg")
    if not isinstance(turn_deg, float):
        return None
    return -turn_deg if move.words.code == "move.turn-right" else turn_deg


def panel_bends(step: SetupStep) -> str:
    """The letters of the bends a hit makes."""
    return ", ".join(bend_mark(bend) for bend in step.bends)


def panel_heading(sheet: PanelSheet, step: SetupStep, wording: Wording) -> str:
    """The faces that the hit bends up, how far, and which way."""
    hit = sheet.hit(step)
    zone = hit.operation.zones[0]
    turned = wording.word(
        "hit.bend",
        turn=wording.written("turn_deg", zone.turn_deg),
        way=wording.word("toward" if zone.toward else "away"),
    )
    return f"{', '.join(sheet.name(face) for face in hit.operation.faces)}: {turned}"


def panel_lies(sheet: PanelSheet, step: SetupStep, wording: Wording) -> str:
    """How the part lies before the operator: what is at the stops, which face is up, which side looks to him."""
    hit, told = sheet.hit(step), []
    if hit.gauged is None:
        told.append(wording.word("step.gauged", edge=wording.word("gauge.none")))
    else:
        told.append(wording.word(f"panel.gauged-{hit.gauged.on}", face=hit.gauged.face_name))
    told.append(wording.word(f"face-{step.marked_face}"))
    side = operator_side(sheet, step)
    if side is not None:
        told.append(wording.word("panel.operator-side", face=side))
    return ", ".join(told)


def operator_side(sheet: PanelSheet, step: SetupStep) -> str | None:
    """The flange of the base that looks to the operator; None where none does."""
    hit = sheet.hit(step)
    stand = stand_of(hit, sheet.blank.thickness_mm)
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


def panel_rows(sheet: PanelSheet, step: SetupStep, wording: Wording) -> list[str]:
    """Where the rows stand, from the bend line's left end and on the bed, and what they leave of the bend."""
    hit = sheet.hit(step)
    told = [
        wording.word(
            "panel.rows",
            line=wording.length(hit.punch.from_mm, 0.1),
            die=wording.length(hit.die.from_mm, 0.1),
            bed=wording.length(step.station.from_mm, 1.0),
            part=wording.length(step.part_from_mm, 1.0),
        )
    ]
    if hit.short_mm > SHORT_MM:
        told.append(wording.word("panel.short", short=wording.length(hit.short_mm, 0.1)))
    return told


def panel_lines(step: SetupStep, wording: Wording) -> str:
    """What is keyed in beside the row of figures, and why the ram opens so far."""
    ram = step.ram
    keyed = " · ".join(words for _, words in lesser_cells(step, wording))
    height, reason = wording.opening(ram.opening.open_height_mm), wording.said(ram.opening.reason)
    return f"{sentence(keyed)} {wording.word('step.open-because', height=height, reason=reason)}"
