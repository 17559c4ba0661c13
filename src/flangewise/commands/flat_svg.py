"""The blank in plan as a drawing: `flat --svg`."""

from pathlib import Path

from flangewise.drawing import svg
from flangewise.pattern import Blank
from flangewise.sheet import Wording, blank_plan
from flangewise.shop import Machine
from flangewise.words import phrase, say
from flangewise.writing import write_whole

WIDTH_MM, HEIGHT_MM = 270.0, 180.0
ENDING = ".svg"


def draw_blank(blank: Blank, machine: Machine, to: Path, *, units: str) -> None:
    """The blank drawn to a file, or as PART.svg to a folder; whole or not at all."""
    path = to if to.suffix.lower() == ENDING else to / f"{blank.part}{ENDING}"
    described = say(phrase("sheet.plan.described", part=blank.part))
    wording = Wording(machine, units=units)
    drawing = blank_plan(blank, wording, width_mm=WIDTH_MM, height_mm=HEIGHT_MM, described=described)
    write_whole(path, svg(drawing, standalone=True).encode())
