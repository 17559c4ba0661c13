"""The words and numbers of the sheet: its language, its units, and numbers no finer than the machine can set.

Units are said once in the head of the sheet, so numbers stand without them; a force carries its unit.
"""

import math
from dataclasses import dataclass

from flangewise.sheet.marks import with_marks
from flangewise.shop import Machine
from flangewise.units import MM_PER_INCH, trimmed
from flangewise.words import Phrase, Value, phrase, say

INCH_DIGITS = 3
MISSING = "–"


@dataclass(frozen=True)
class Wording:
    """Language and units of one sheet, and the machine it is for: nothing is printed finer than that can be set."""

    machine: Machine
    lang: str = "en"
    units: str = "mm"

    def word(self, code: str, **values: Value) -> str:
        """A word or sentence of the sheet's own, by its code without the room's prefix."""
        return say(phrase(f"sheet.{code}", **values), self.lang, self.units)

    def said(self, told: Phrase) -> str:
        """A phrase that came with the data."""
        return say(with_marks(told), self.lang, self.units)

    def length(self, length_mm: float | None, step_mm: float = 0.01) -> str:
        """A length without its unit, in whole steps of what can be set; in inch to three places."""
        if length_mm is None:
            return MISSING
        if self.units == "inch":
            return f"{length_mm / MM_PER_INCH:.{INCH_DIGITS}f}"
        return stepped(length_mm, step_mm)

    def size(self, length_mm: float | None) -> str:
        """A size of the part or the blank: hundredths of a mm, thousandths of an inch, idle zeros off."""
        digits, per_mm = (INCH_DIGITS, 1 / MM_PER_INCH) if self.units == "inch" else (2, 1.0)
        return MISSING if length_mm is None else trimmed(length_mm * per_mm, digits)

    def stop(self, length_mm: float | None) -> str:
        """A backgauge place."""
        return self.length(length_mm, self.machine.stop_step_mm)

    def stops(self, lengths_mm: tuple[float, ...]) -> str:
        """Backgauge places of several fingers."""
        return " / ".join(map(self.stop, lengths_mm))

    def depth(self, depth_mm: float | None) -> str:
        """A depth of the punch."""
        return self.length(depth_mm, self.machine.depth_step_mm)

    def opening(self, height_mm: float | None) -> str:
        """An open height, rounded up: less than needed would not do."""
        if height_mm is None:
            return MISSING
        step_mm = self.machine.opening_step_mm
        return self.length(math.ceil(height_mm / step_mm - 1e-6) * step_mm, step_mm)

    def speed(self, speed_mm_per_s: float) -> str:
        """A speed, rounded down: faster than told would not do."""
        step = self.machine.speed_step_mm_per_s
        if self.units == "inch":
            step, speed_mm_per_s = 10**-INCH_DIGITS, speed_mm_per_s / MM_PER_INCH
        return stepped(math.floor(speed_mm_per_s / step + 1e-6) * step, step)

    def angle(self, angle_deg: float | None) -> str:
        """An angle with its sign, to a tenth or what the machine can set."""
        return MISSING if angle_deg is None else f"{stepped(angle_deg, self.machine.angle_step_deg)}°"

    def tolerance(self, half_deg: float) -> str:
        """Plus and minus on an angle."""
        return f"{trimmed(half_deg, 2)}°"

    def force(self, force_kn: float | None) -> str:
        """A force: whole kN, tenths under 20."""
        return MISSING if force_kn is None else f"{force_kn:.{1 if abs(force_kn) < 20 else 0}f}"

    def plain(self, value: float | None, digits: int) -> str:
        """A number with so many places."""
        return MISSING if value is None else f"{value:.{digits}f}"


def stepped(value: float, step: float) -> str:
    """A number rounded to whole steps and written with the digits the step has.

    >>> stepped(18.234, 0.05), stepped(18.234, 0.01), stepped(86.4, 1.0), stepped(2.7, 0.25)
    ('18.25', '18.23', '86', '2.75')
    """
    digits = next((places for places in range(6) if abs(round(step, places) - step) < 1e-9), 6)
    whole = math.floor(value / step + 0.5 + 1e-9)
    return f"{whole * step + 0.0:.{digits}f}"
