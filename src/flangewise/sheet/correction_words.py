"""What to do with X when a leg comes out wrong: the leg, its size and tolerance, and the sign."""

from __future__ import annotations

from flangewise.setup import Correction
from flangewise.sheet.data import SheetData, Step
from flangewise.sheet.voice import MISSING, Voice
from flangewise.units import trimmed

MINUS = "−"
TIMES_DIGITS = 2


def correction_line(sheet: SheetData, step: Step, voice: Voice) -> str:
    """What one hit says, empty without stops: its leg and the sign, what else changes, and when the leg can be read."""
    found = step.correction
    if found is None:
        return voice.word("step.correct-none") if step.hit == "flatten" else ""
    said = [voice.word("step.correct", leg=str(found.leg), size=_size(found, voice), change=_change(found))]
    if found.also:
        shifted = (voice.word("step.leg-by", leg=str(leg), by=_signed(rate)) for leg, rate in found.also)
        said.append(voice.word("step.correct-also", legs=", ".join(shifted)))
    if found.read_after != step.number:
        folded = step.hit == "pre-bend" and not sheet.finish.sized_inside
        code = "step.read-fold" if folded else "step.read-after"
        said.append(voice.word(code, leg=str(found.leg), step=str(found.read_after)))
    return " ".join(said)


def correction_cell(sheet: SheetData, leg: int, voice: Voice) -> str:
    """What to do at which step where a leg is too long; of a leg that no stop sets, nothing: the blank does."""
    own = [step for step in sheet.steps if step.correction is not None and step.correction.leg == leg]
    told = [
        voice.word("first.x-step", change=_change(step.correction), step=str(step.number))
        for step in own
        if step.correction is not None
    ]
    return "; ".join(told) or MISSING


def _size(found: Correction, voice: Voice) -> str:
    size = voice.size(found.nominal_mm)
    return size if found.plus_minus_mm is None else f"{size} ±{voice.size(found.plus_minus_mm)}"


def _change(found: Correction) -> str:
    """X with its sign, and how many times the error where gauging past a slope makes it other than once."""
    sign = "+" if found.x_per_mm > 0 else MINUS
    times = trimmed(abs(found.x_per_mm), TIMES_DIGITS)
    return f"X {sign}" if times == "1" else f"X {sign} {times} ×"


def _signed(rate: float) -> str:
    return f"{'+' if rate > 0 else MINUS}{trimmed(abs(rate), TIMES_DIGITS)}"
