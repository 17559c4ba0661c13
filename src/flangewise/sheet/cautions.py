"""Cautions printed where their condition holds: short, and none that clears anything.

Conditions and limits are common practice; 250 mm/s is the traditional reduced speed, from memory. There is no way to
turn the cautions or the fixed notice off.
"""

from collections.abc import Iterator

from flangewise.sheet.data import SheetData
from flangewise.words import Phrase, phrase

RATING_SHARE = 0.8
HEAVY_KG, LONG_SIDE_MM = 10.0, 1500.0
SHORT_SEGMENT_MM = 20.0


def cautions(sheet: SheetData) -> tuple[Phrase, ...]:
    """The cautions of a sheet, in the order in which they matter at the machine."""
    return tuple(phrase(f"sheet.caution.{code}") for code in _codes(sheet))


def _codes(sheet: SheetData) -> Iterator[str]:
    if sheet.steps:
        yield "hands"
    if any(step.trapped_behind for step in sheet.steps):
        yield "trap"
    if any(load.share > RATING_SHARE for load in sheet.loads):
        yield "overload"
    if sheet.high_tensile:
        yield "cracking"
    if sheet.blank.mass_kg > HEAVY_KG or max(sheet.blank.along_mm, sheet.blank.developed_mm) > LONG_SIDE_MM:
        yield "heavy"
    yield "burr"
    if any(
        length < SHORT_SEGMENT_MM for pair in sheet.tools for each in pair.stations for length in each.punch_segments_mm
    ):
        yield "clamps"
    if any(pair.punch_turned or pair.neck for pair in sheet.tools):
        yield "neck"
    if sheet.handler_kind == "robot":
        yield "robot"
