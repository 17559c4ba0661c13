"""The blank in plan as a drawing: `flat --svg`."""

from pathlib import Path

from flangewise.commands import Settings
from flangewise.commands.output import write_out
from flangewise.commands.paths import SVG_ENDING
from flangewise.drawing import Drawing, svg
from flangewise.pattern import Blank, PanelBlank
from flangewise.sheet import Wording, blank_plan, finished_picture
from flangewise.shop import Machine
from flangewise.words import phrase, say

WIDTH_MM, HEIGHT_MM = 270.0, 180.0
FINISHED_MM = (180.0, 150.0)


def draw_blank(blank: Blank, machine: Machine, to: Path, settings: Settings) -> None:
    """The blank drawn to a file, or as PART.svg to a folder, there with PART.finished.svg of a panel; each whole."""
    wording = Wording(machine, units=settings.units)
    plan = blank_plan(
        blank, wording, width_mm=WIDTH_MM, height_mm=HEIGHT_MM, described=_described("sheet.plan.described", blank)
    )
    if to.suffix.lower() == SVG_ENDING:
        _write(plan, to, settings)
        return
    _write(plan, to / f"{blank.part}{SVG_ENDING}", settings)
    if isinstance(blank, PanelBlank):
        described = _described("sheet.plan.finished", blank)
        finished = finished_picture(blank, width_mm=FINISHED_MM[0], height_mm=FINISHED_MM[1], described=described)
        _write(finished, to / f"{blank.part}.finished{SVG_ENDING}", settings)


def _described(code: str, blank: Blank) -> str:
    return say(phrase(code, part=blank.part))


def _write(drawing: Drawing, path: Path, settings: Settings) -> None:
    write_out(path, svg(drawing, standalone=True).encode(), settings)
