"""The step table: for each hit its pictures, the move in words, the numbers and the empty boxes."""

from dataclasses import dataclass

from flangewise.drawing import svg
from flangewise.sequence import Hold
from flangewise.sheet.blank_picture import blank_picture
from flangewise.sheet.correction_words import correction_line
from flangewise.sheet.data import SheetData, Step
from flangewise.sheet.step_picture import step_picture
from flangewise.sheet.voice import MISSING, Voice
from flangewise.units import trimmed
from flangewise.words import Value, phrase

CROSSED_DIGITS = 1


@dataclass(frozen=True)
class Cell:
    """A heading and a value."""

    label: str
    value: str


@dataclass(frozen=True)
class StepRow:
    """One row of the step table, everything said."""

    number: str
    heading: str
    face: str
    moves: tuple[str, ...]
    loading_picture: str
    picture: str
    main: tuple[Cell, ...]
    numbers: tuple[Cell, ...]
    lines: tuple[str, ...]
    boxes: tuple[str, ...]


def step_rows(sheet: SheetData, voice: Voice) -> tuple[StepRow, ...]:
    """All rows. A loading picture is drawn wherever the part is laid a new way; the first one stands on page 1."""
    return tuple(_row(sheet, step, voice, first=place == 0) for place, step in enumerate(sheet.steps))


def _row(sheet: SheetData, step: Step, voice: Voice, *, first: bool) -> StepRow:
    loading = ""
    if step.new_load and not first:
        picture = blank_picture(sheet.blank, step, sheet.material, voice, width_mm=116.0, height_mm=54.0, sized=False)
        loading = svg(picture)
    moves = tuple(sentence(voice.said(move)) for move in step.moves)
    if not moves:
        moves = (voice.word("move-first") if first else voice.word("move-none"),)
    return StepRow(
        number=str(step.number),
        heading=_heading(step, voice),
        face=voice.word(f"face-{step.marked_face}"),
        moves=moves,
        loading_picture=loading,
        picture=svg(step_picture(step, voice)),
        main=_main(step, voice),
        numbers=_numbers(sheet, step, voice),
        lines=tuple(_lines(sheet, step, voice)),
        boxes=_boxes(step, voice),
    )


def sentence(words: str) -> str:
    """Words that may stand alone: a capital in front, a point behind."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


def _heading(step: Step, voice: Voice) -> str:
    way = voice.word("toward" if step.toward else "away")
    turn = f"{trimmed(step.turn_deg, 1)}°"
    return voice.word(f"hit.{step.hit}", bends=", ".join(step.bends), turn=turn, way=way)


def _main(step: Step, voice: Voice) -> tuple[Cell, ...]:
    """What is read from the machine's front: large."""
    angle = step.bend_to_deg if step.bend_to_deg is not None else step.finished_deg
    label = "step.bend-to" if step.bend_to_deg is not None else "step.finished"
    return (
        Cell(voice.word("step.x"), voice.stop(step.x_mm)),
        Cell(voice.word(label), voice.angle(angle)),
        Cell(voice.word("step.open"), voice.opening(step.open_height_mm)),
    )


def _numbers(sheet: SheetData, step: Step, voice: Voice) -> tuple[Cell, ...]:
    per_deg = None if not step.deg_per_mm else 1 / step.deg_per_mm
    scale = 1.0 if voice.units == "mm" else 25.4
    slope = None if step.deg_per_mm is None else step.deg_per_mm * scale
    cells = [
        ("step.depth", voice.depth(step.depth_mm)),
        ("step.finished", voice.angle(step.finished_deg)),
        ("step.force", voice.force(step.force_kn)),
        ("step.r", voice.stop(step.r_mm)),
        ("step.z", " / ".join(voice.stop(z) for z in step.z_mm)),
        ("step.retract", voice.stop(step.retract_mm)),
        ("step.slow", voice.length(step.slow_from_mm, 0.1)),
        ("step.speed", voice.speed(step.ram_speed_mm_per_s)),
        ("step.crowning", voice.length(step.crowning_mm, 0.01)),
        (f"step.slope-{voice.units}", voice.plain(slope, CROSSED_DIGITS)),
        ("step.slope-back", voice.length(per_deg, 0.001)),
        ("step.seconds", voice.plain(step.seconds_s, 0)),
    ]
    if len(sheet.tools) > 1:
        cells.append(("step.pair", str(step.tools + 1)))
    # The headings of two lines last: below them nothing else stands that they could run into.
    cells += [
        ("step.spread", MISSING if step.spread_deg is None else f"± {step.spread_deg:.1f}°"),
        ("step.spread-measured", MISSING if step.spread_measured_deg is None else f"± {step.spread_measured_deg:.1f}°"),
    ]
    return tuple(Cell(voice.word(code), value) for code, value in cells)


def _lines(sheet: SheetData, step: Step, voice: Voice) -> list[str]:
    """What needs a sentence: the edge on the stops, why this opening, the leg that comes out."""
    lines = [
        voice.word("step.gauged", edge=voice.said(step.gauged_on)),
        voice.word(
            "step.open-because", height=voice.opening(step.open_height_mm), reason=voice.said(step.open_height_reason)
        ),
        correction_line(sheet, step, voice),
    ]
    if step.hold is not None:
        lines.append(_held(step.hold, voice))
    return [line for line in lines if line]


def _held(hold: Hold, voice: Voice) -> str:
    """How much of the part lies in front and how much behind, and what holds it."""
    values: dict[str, Value] = {
        "front": voice.size(hold.front_mm // 1),
        "front_kg": round(hold.front_kg, 2),
        "behind_kg": round(hold.behind_kg, 2),
        "by": voice.said(phrase(f"hold.{hold.by}")),
    }
    if hold.tips != "behind":
        return voice.word("step.hold", **values)
    return voice.word("step.hold-tips", moment_nm=hold.moment_nm, **values)


def _boxes(step: Step, voice: Voice) -> tuple[str, ...]:
    codes = ["box.depth", "box.angle", "box.x", "box.leg"]
    return tuple(voice.word(code) for code in codes)
