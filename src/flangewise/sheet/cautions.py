"""Cautions printed where their condition holds: short, and none that clears anything.

What holds for every part stands in the fixed notice; a caution is what this very part asks for besides. There is no way
to turn the cautions or the fixed notice off.
"""

from flangewise.punch_die import may_crack
from flangewise.setup import stands_behind
from flangewise.sheet.data import SheetData
from flangewise.words import Phrase, phrase


def cautions(sheet: SheetData) -> tuple[Phrase, ...]:
    """The cautions of a sheet, in the order in which they matter at the machine."""
    thickness_mm, mountings = sheet.part.thickness_mm, sheet.mountings
    holds = {
        "trap": any(stands_behind(step.before.outline_mm, thickness_mm) for step in sheet.steps),
        "overload": any(load.is_near for load in sheet.loads),
        "cracking": may_crack(sheet.findings, sheet.material, thickness_mm),
        "heavy": sheet.pattern.wants_two,
        "clamps": any(station.has_short_segment for station in sheet.setup.stations),
        "turned": any(each.turned for each in mountings),
        "neck": any(each.pair.is_set_back for each in mountings),
        "robot": sheet.handler.kind == "robot",
    }
    return tuple(phrase(f"sheet.caution.{code}") for code, asked in holds.items() if asked)
