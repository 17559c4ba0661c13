"""The step table: for each hit its pictures, the move in words, the numbers and the empty boxes."""

from dataclasses import dataclass

from flangewise.drawing import svg
from flangewise.sequence import Hold
from flangewise.setup import SetupStep
from flangewise.sheet.blank_picture import blank_picture
from flangewise.sheet.correction_words import correction_line
from flangewise.sheet.data import SheetData, SheetStep
from flangewise.sheet.step_picture import step_picture
from flangewise.sheet.wording import MISSING, Wording
from flangewise.units import MM_PER_INCH, trimmed
from flangewise.words import Phrase, Value, phrase

CROSSED_DIGITS = 1
BOXES = ("depth", "angle", "x", "leg")
"""What is read off at each hit and written down."""


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


def step_rows(sheet: SheetData, wording: Wording) -> tuple[StepRow, ...]:
    """All rows. A loading picture is drawn wherever the part is laid a new way; the first one stands on page 1."""
    return tuple(_row(sheet, step, wording, first=place == 0) for place, step in enumerate(sheet.steps))


def _row(sheet: SheetData, step: SheetStep, wording: Wording, *, first: bool) -> StepRow:
    loading, keyed = "", step.keyed
    if step.new_load and not first:
        picture = blank_picture(sheet, step, wording, width_mm=116.0, height_mm=54.0, sized=False)
        loading = svg(picture)
    moves = tuple(sentence(wording.said(move)) for move in step.moves)
    if not moves:
        moves = (wording.word("move-first") if first else wording.word("move-none"),)
    return StepRow(
        number=str(keyed.step),
        heading=_heading(step, wording),
        face=wording.word(f"face-{keyed.marked_face}"),
        moves=moves,
        loading_picture=loading,
        picture=svg(step_picture(step, wording)),
        main=_main(keyed, wording),
        numbers=_numbers(sheet, step, wording),
        lines=tuple(_lines(sheet, keyed, wording)),
        boxes=tuple(wording.word(f"box.{code}") for code in BOXES),
    )


def sentence(words: str) -> str:
    """Words that may stand alone: a capital in front, a point behind."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


def _heading(step: SheetStep, wording: Wording) -> str:
    keyed, zone = step.keyed, step.zones[0]
    turn_deg = 180.0 - keyed.finished_deg if keyed.hit == "pre-bend" else zone.turn_deg
    way = wording.word("toward" if zone.toward else "away")
    return wording.word(f"hit.{keyed.hit}", bends=", ".join(step.labels), turn=f"{trimmed(turn_deg, 1)}°", way=way)


def _main(step: SetupStep, wording: Wording) -> tuple[Cell, ...]:
    """What is read from the machine's front: large."""
    angle = step.ram.bend_to_deg if step.ram.bend_to_deg is not None else step.finished_deg
    label = "step.bend-to" if step.ram.bend_to_deg is not None else "step.finished"
    return (
        Cell(wording.word("step.x"), wording.stop(step.stops.x_mm)),
        Cell(wording.word(label), wording.angle(angle)),
        Cell(wording.word("step.open"), wording.opening(step.ram.opening.open_height_mm)),
    )


def _numbers(sheet: SheetData, step: SheetStep, wording: Wording) -> tuple[Cell, ...]:
    keyed, spread = step.keyed, step.keyed.spread
    scale = 1.0 if wording.units == "mm" else MM_PER_INCH
    slope = None if keyed.deg_per_mm is None else keyed.deg_per_mm * scale
    cells = [
        ("step.depth", wording.depth(keyed.ram.depth_mm)),
        ("step.finished", wording.angle(keyed.finished_deg)),
        ("step.force", wording.force(keyed.force_kn)),
        ("step.r", wording.stop(keyed.stops.r_mm)),
        ("step.z", " / ".join(wording.stop(z) for z in keyed.stops.z_mm)),
        ("step.retract", wording.stop(keyed.stops.retract_mm)),
        ("step.slow", wording.length(keyed.ram.slow_from_mm, 0.1)),
        ("step.speed", wording.speed(keyed.ram.speed.ram_speed_mm_per_s)),
        ("step.crowning", wording.length(keyed.ram.bow.crowning_mm, 0.01)),
        (f"step.slope-{wording.units}", wording.plain(slope, CROSSED_DIGITS)),
        ("step.slope-back", wording.length(keyed.mm_per_deg, 0.001)),
        ("step.seconds", wording.plain(keyed.seconds_s, 0)),
    ]
    pairs = [mounting.name for mounting in sheet.mountings]
    if len(pairs) > 1:
        cells.append(("step.pair", str(pairs.index(step.mounting.name) + 1)))
    # The headings of two lines last: below them nothing else stands that they could run into.
    cells += [
        ("step.spread", MISSING if spread is None else f"± {spread.first_piece_deg:.1f}°"),
        ("step.spread-measured", MISSING if spread is None else f"± {spread.thickness_measured_deg:.1f}°"),
    ]
    return tuple(Cell(wording.word(code), value) for code, value in cells)


def _lines(sheet: SheetData, step: SetupStep, wording: Wording) -> list[str]:
    """What needs a sentence: the edge on the stops, why this opening, the leg that comes out."""
    lines = [
        wording.word("step.gauged", edge=wording.said(_gauged_on(step))),
        wording.word(
            "step.open-because",
            height=wording.opening(step.ram.opening.open_height_mm),
            reason=wording.said(step.ram.opening.reason),
        ),
        correction_line(sheet, step, wording),
    ]
    if step.hold is not None:
        lines.append(_held(step.hold, wording))
    return [line for line in lines if line]


def _held(hold: Hold, wording: Wording) -> str:
    """How much of the part lies in front and how much behind, and what holds it."""
    values: dict[str, Value] = {
        "front": wording.size(hold.front_mm // 1),
        "front_kg": round(hold.front_kg, 2),
        "behind_kg": round(hold.behind_kg, 2),
        "by": wording.said(phrase(f"hold.{hold.by}")),
    }
    if hold.tips != "behind":
        return wording.word("step.hold", **values)
    return wording.word("step.hold-tips", moment_nm=hold.moment_nm, **values)


def _gauged_on(step: SetupStep) -> Phrase:
    if step.gauged_on == "flange":
        return phrase("sheet.gauge.flange", bend=step.gauged_bend or 0)
    return phrase(f"sheet.gauge.{step.gauged_on or 'none'}")
