"""The thickness measured of the sheet in hand, for commands that plan with it."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import click

from flangewise.commands import Settings
from flangewise.commands.options import OptionReader, Span
from flangewise.part import FoundPart

MEASURED = Span(0.05, 50.0, "a thickness from 0.05 to 50 mm is wanted")
# A sheet further off its nominal thickness than this is another sheet, or a slip in the reading.
MOST_OFF_SHARE = 0.25

_Command = TypeVar("_Command", bound=Callable[..., Any])


def measured_thickness_option(command: _Command) -> _Command:
    """The option --measured-thickness T of a command, handed over as `measured_thickness`."""
    told = "Thickness measured of the sheet in hand: depth and angle are worked out for it."
    return click.option("--measured-thickness", "measured_thickness", metavar="T", help=told)(command)


def with_thickness(found: Sequence[FoundPart], text: str | None, settings: Settings) -> tuple[FoundPart, ...]:
    """The parts of a run, each bent from the sheet measured; as they were where nothing was measured.

    Raises Unusable where it is no thickness, or none that a part's sheet could have.
    """
    asked = OptionReader(settings.units)
    thickness_mm = asked.length_mm("--measured-thickness", text, MEASURED)
    for each in found:
        if each.part is not None and thickness_mm is not None:
            nominal_mm = each.part.thickness_mm
            if abs(thickness_mm - nominal_mm) > MOST_OFF_SHARE * nominal_mm:
                wrong = f"{thickness_mm:g} mm is far from the {nominal_mm:g} mm of {each.part.name}"
                asked.fault("--measured-thickness", wrong, "measure again, or mend the part file")
    asked.done()
    if thickness_mm is None:
        return tuple(found)
    return tuple(
        each if each.part is None else replace(each, part=replace(each.part, measured_thickness_mm=thickness_mm))
        for each in found
    )
