"""The words and numbers of the sheet: its language, its units, and numbers no finer than the machine can set.

Units are said once in the head of the sheet, so a length stands without them; what has a unit of its own carries it.
Numbers have the decimal sign of the language, and thousands are never set apart.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flangewise.part import Part
from flangewise.records import dataclass
from flangewise.sheet.marks import with_marks
from flangewise.shop import Machine
from flangewise.units import DEPTH_INCH_DIGITS, KN_PER_TON, MM_PER_INCH, degrees_minutes, trimmed, with_comma, written
from flangewise.words import Phrase, Value, catalogue, phrase, say

if TYPE_CHECKING:
    from flangewise.part import PanelPart

INCH_DIGITS = 3
ACROSS_STEP_MM, ACROSS_STEP_INCH = 1.0, 0.05
"""A finger stands along the bed to the whole mm, or to what is next to it in inch: more does nothing for the part."""
MISSING = "–"


@dataclass(frozen=True)
class Wording:
    """Language and units of one sheet, and the machine it is for: nothing is printed finer than that can be set."""

    machine: Machine
    lang: str = "en"
    units: str = "mm"

    @property
    def is_inch(self) -> bool:
        """Whether lengths are in inch, and with them speeds in in/min, forces in ton, masses in lb, strength in ksi."""
        return self.units == "inch"

    def word(self, code: str, **values: Value) -> str:
        """A word or sentence of the sheet's own, by its code without the room's prefix.

        Where it says a unit, the catalogue has a second one that ends in `-inch`.
        """
        in_inch = f"{code}-inch"
        if self.is_inch and f"sheet.{in_inch}" in catalogue(self.lang):
            code = in_inch
        return say(phrase(f"sheet.{code}", **values), self.lang, self.units)

    def said(self, told: Phrase) -> str:
        """A phrase that came with the data."""
        return say(with_marks(told), self.lang, self.units)

    def number(self, text: str) -> str:
        """A number already written, with the decimal sign of the language."""
        return with_comma(text, self.lang)

    def written(self, name: str, value: float | None) -> str:
        """A value with its unit, which is taken from the end of its name: `mass_kg` is 16.2 kg, 16,2 kg or 35.7 lb."""
        return MISSING if value is None else self.number(written(name, value, self.units))

    def length(self, length_mm: float | None, step_mm: float = 0.01, inch_digits: int = INCH_DIGITS) -> str:
        """A length without its unit, in whole steps of what can be set; in inch to three places."""
        if length_mm is None:
            return MISSING
        if self.is_inch:
            return self.number(f"{length_mm / MM_PER_INCH:.{inch_digits}f}")
        return self.number(stepped(length_mm, step_mm))

    def size(self, length_mm: float | None, inch_digits: int = INCH_DIGITS) -> str:
        """A size of the part or the blank: hundredths of a mm, thousandths of an inch, idle zeros off."""
        digits, per_mm = (inch_digits, 1 / MM_PER_INCH) if self.is_inch else (2, 1.0)
        return MISSING if length_mm is None else self.number(trimmed(length_mm * per_mm, digits))

    def thickness(self, part: Part | PanelPart, plus_minus_mm: float | None = None) -> str:
        """The thickness, with its gauge number beside it where the part gave one; in inch to four places."""
        told = self.size(part.thickness_mm, DEPTH_INCH_DIGITS)
        told += "" if plus_minus_mm is None else f" ± {self.size(plus_minus_mm, DEPTH_INCH_DIGITS)}"
        gauge = part.gauge if isinstance(part, Part) else None
        return told if gauge is None else f"{told} ({gauge} ga)"

    def stop(self, length_mm: float | None) -> str:
        """A backgauge place in X or R."""
        return self.length(length_mm, self.machine.stop_step_mm)

    def across(self, length_mm: float | None) -> str:
        """A backgauge place along the bed, Z: whole mm, or twentieths of an inch."""
        if length_mm is None:
            return MISSING
        step, value = (ACROSS_STEP_INCH, length_mm / MM_PER_INCH) if self.is_inch else (ACROSS_STEP_MM, length_mm)
        return self.number(stepped(value, step))

    def stops(self, lengths_mm: tuple[float, ...]) -> str:
        """Backgauge places along the bed, a finger each."""
        return " / ".join(map(self.across, lengths_mm)) or MISSING

    def retract(self, retract_mm: float | None) -> str:
        """How far the stop draws back: whole mm or twentieths of an inch, rounded up."""
        if retract_mm is None:
            return MISSING
        step, value = (ACROSS_STEP_INCH, retract_mm / MM_PER_INCH) if self.is_inch else (ACROSS_STEP_MM, retract_mm)
        return self.number(stepped(math.ceil(value / step - 1e-6) * step, step))

    def depth(self, depth_mm: float | None) -> str:
        """A depth of the punch; in inch to four places."""
        return self.length(depth_mm, self.machine.depth_step_mm, DEPTH_INCH_DIGITS)

    def opening(self, height_mm: float | None) -> str:
        """An open height, rounded up: less than needed would not do."""
        if height_mm is None:
            return MISSING
        if self.is_inch:
            return self.number(f"{math.ceil(height_mm / MM_PER_INCH * 100 - 1e-4) / 100:.2f}")
        step_mm = self.machine.opening_step_mm
        return self.length(math.ceil(height_mm / step_mm - 1e-6) * step_mm, step_mm)

    def speed(self, speed_mm_per_s: float) -> str:
        """A speed in mm/s or in/min, rounded down: faster than told would not do."""
        step, speed = self.machine.speed_step_mm_per_s, speed_mm_per_s
        if self.is_inch:
            step, speed = 0.1, speed_mm_per_s / MM_PER_INCH * 60
        return self.number(stepped(math.floor(speed / step + 1e-6) * step, step))

    def angle(self, angle_deg: float | None) -> str:
        """An angle with its sign, to a tenth or what the machine can set."""
        return MISSING if angle_deg is None else self.number(f"{stepped(angle_deg, self.machine.angle_step_deg)}°")

    def plus_minus(self, half_mm: float | None) -> str:
        """What a size is allowed."""
        return self.word("not-known") if half_mm is None else f"± {self.size(half_mm)}"

    def tolerance(self, half_deg: float) -> str:
        """Plus and minus on an angle, in degrees and minutes as general tolerances are tabled."""
        return self.number(degrees_minutes(half_deg))

    def angle_plus_minus(self, half_deg: float | None) -> str:
        """What an angle is allowed."""
        return self.word("not-known") if half_deg is None else f"± {self.tolerance(half_deg)}"

    def scatter(self, half_deg: float | None) -> str:
        """What an angle is expected to scatter by, to a tenth."""
        return MISSING if half_deg is None else f"± {self.plain(half_deg, 1)}°"

    def force(self, force_kn: float | None) -> str:
        """A force: whole kN, tenths under 20; in ton with the kN of the machine's table beside it."""
        if force_kn is None:
            return MISSING
        few = abs(force_kn) < 20
        in_kn = self.plain(force_kn, 1 if few else 0)
        in_ton = force_kn / KN_PER_TON
        digits = 2 if few else 1 if abs(in_ton) < 100 else 0
        return f"{self.plain(in_ton, digits)} ({in_kn})" if self.is_inch else in_kn

    def plain(self, value: float | None, digits: int) -> str:
        """A number with so many places."""
        return MISSING if value is None else self.number(f"{value:.{digits}f}")


def stepped(value: float, step: float) -> str:
    """A number rounded to whole steps and written with the digits the step has.

    >>> stepped(18.234, 0.05), stepped(18.234, 0.01), stepped(86.4, 1.0), stepped(2.7, 0.25)
    ('18.25', '18.23', '86', '2.75')
    """
    digits = next((places for places in range(6) if abs(round(step, places) - step) < 1e-9), 6)
    whole = math.floor(value / step + 0.5 + 1e-9)
    return f"{whole * step + 0.0:.{digits}f}"
