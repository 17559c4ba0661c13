"""The words of one hit: its heading, the moves before it, and what needs a sentence beside its numbers."""

from flangewise.sequence import Hold
from flangewise.setup import SetupStep
from flangewise.sheet.correction_words import correction_line
from flangewise.sheet.data import SheetData, SheetStep
from flangewise.sheet.wording import Wording
from flangewise.units import trimmed
from flangewise.words import Phrase, Value, phrase


def sentence(words: str) -> str:
    """Words that may stand alone: a capital in front, a point behind."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


def moves_before(step: SheetStep, wording: Wording, *, first: bool) -> list[str]:
    """What is done with the part before the hit, a sentence a move; where nothing is, that it is not."""
    moves = [sentence(wording.said(move)) for move in step.moves]
    return moves or [wording.word("move-first" if first else "move-none")]


def heading(step: SheetStep, wording: Wording) -> str:
    """Which bends the hit makes, how far and which way they turn."""
    keyed, zone = step.keyed, step.zones[0]
    turn_deg = 180.0 - keyed.finished_deg if keyed.hit == "pre-bend" else zone.turn_deg
    way = wording.word("toward" if zone.toward else "away")
    return wording.word(f"hit.{keyed.hit}", bends=", ".join(step.labels), turn=f"{trimmed(turn_deg, 1)}°", way=way)


def step_lines(sheet: SheetData, step: SetupStep, wording: Wording) -> list[str]:
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
