"""Cautions printed where their condition holds: short, and none that clears anything.

What holds for every part stands in the fixed notice; a caution is what this very part asks for besides. Conditions and
limits are common practice. There is no way to turn the cautions or the fixed notice off.
"""

from collections.abc import Iterator

from flangewise.sheet.data import SheetData
from flangewise.words import Phrase, phrase

RATING_SHARE = 0.8
HEAVY_KG, LONG_SIDE_MM = 10.0, 1500.0
SHORT_SEGMENT_MM = 20.0
SHARP = ("nose-sharp", "nose-too-sharp", "radius-under-least")
"""What the choice of tools says of a punch too sharp for the sheet, by how the codes begin."""


def cautions(sheet: SheetData) -> tuple[Phrase, ...]:
    """The cautions of a sheet, in the order in which they matter at the machine."""
    return tuple(phrase(f"sheet.caution.{code}") for code in _codes(sheet))


def _codes(sheet: SheetData) -> Iterator[str]:
    if any(step.trapped_behind for step in sheet.steps):
        yield "trap"
    if any(load.share > RATING_SHARE for load in sheet.loads):
        yield "overload"
    if sheet.high_tensile and any(finding.code.startswith(SHARP) for finding in sheet.findings):
        yield "cracking"
    if sheet.blank.mass_kg > HEAVY_KG or max(sheet.blank.along_mm, sheet.blank.developed_mm) > LONG_SIDE_MM:
        yield "heavy"
    if any(
        length < SHORT_SEGMENT_MM for pair in sheet.tools for each in pair.stations for length in each.punch_segments_mm
    ):
        yield "clamps"
    if any(pair.punch_turned for pair in sheet.tools):
        yield "turned"
    if any(pair.neck for pair in sheet.tools):
        yield "neck"
    if sheet.handler_kind == "robot":
        yield "robot"
