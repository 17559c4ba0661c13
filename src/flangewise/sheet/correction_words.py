"""What to do with X when a leg comes out wrong: the leg, its size and tolerance, and the sign."""

from flangewise.setup import Correction, SetupStep
from flangewise.sheet.data import SheetData
from flangewise.sheet.wording import MISSING, Wording
from flangewise.units import trimmed

MINUS = "−"
TIMES_DIGITS = 2


def correction_line(sheet: SheetData, step: SetupStep, wording: Wording) -> str:
    """What one hit says, empty without stops: its leg and the sign, what else changes, and when the leg can be read."""
    found = step.correction
    if found is None:
        return wording.word("step.correct-none") if step.hit == "flatten" else ""
    said = [wording.word("step.correct", leg=str(found.leg), size=_size(found, wording), change=_change(found))]
    if found.also:
        shifted = (wording.word("step.leg-by", leg=str(leg), by=_signed(rate)) for leg, rate in found.also)
        said.append(wording.word("step.correct-also", legs=", ".join(shifted)))
    if found.read_after != step.step:
        folded = step.hit == "pre-bend" and sheet.part.section.sizes == "outside"
        code = "step.read-fold" if folded else "step.read-after"
        said.append(wording.word(code, leg=str(found.leg), step=str(found.read_after)))
    return " ".join(said)


def correction_cell(sheet: SheetData, leg: int, wording: Wording) -> str:
    """What to do at which step where a leg is too long; of a leg that no stop sets, nothing: the blank does."""
    told = [
        wording.word("first.x-step", change=_change(step.correction), step=str(step.step))
        for step in sheet.setup.steps
        if step.correction is not None and step.correction.leg == leg
    ]
    return "; ".join(told) or MISSING


def _size(found: Correction, wording: Wording) -> str:
    size = wording.size(found.nominal_mm)
    return size if found.plus_minus_mm is None else f"{size} ±{wording.size(found.plus_minus_mm)}"


def _change(found: Correction) -> str:
    """X with its sign, and how many times the error where gauging past a slope makes it other than once."""
    sign = "+" if found.x_per_mm > 0 else MINUS
    times = trimmed(abs(found.x_per_mm), TIMES_DIGITS)
    return f"X {sign}" if times == "1" else f"X {sign} {times} ×"


def _signed(rate: float) -> str:
    return f"{'+' if rate > 0 else MINUS}{trimmed(abs(rate), TIMES_DIGITS)}"
