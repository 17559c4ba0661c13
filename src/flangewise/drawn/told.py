"""How a place, a bend line and many faults of one drawing are told, and how long it may take."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from flangewise.faults import LONGEST_SHOWN, MOST_FAULTS, printable
from flangewise.findings import Finding, place, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass
from flangewise.words import Phrase, phrase


def at(point_mm: Sequence[float]) -> Phrase:
    """A place on the drawing."""
    return phrase("drawn.at", x_mm=float(point_mm[0]), y_mm=float(point_mm[1]))


def line_place(number: int) -> Phrase:
    """A bend line as a place."""
    return place("drawn-line", number)


def shown(text: str) -> str:
    """A word of the drawing as it is told: short, in one line."""
    whole = printable(text)
    return whole if len(whole) <= LONGEST_SHOWN else whole[: LONGEST_SHOWN - 3] + "..."


def bounded(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """None twice; of very many faults the first ones, and how many more there are."""
    once = tuple(dict.fromkeys(findings))
    faults = [each for each in once if each.severity == "refuse"]
    if len(faults) <= MOST_FAULTS:
        return once
    notes = [each for each in once if each.severity != "refuse"]
    return (*faults[:MOST_FAULTS], refuse("drawn-more", count=len(faults) - MOST_FAULTS), *notes)


class OverTime(Exception):  # noqa: N818 - what happened, told as a fault
    """The time for one drawing is used up."""


@dataclass(frozen=True)
class TimeBox:
    """Until when a drawing may be worked on, by a clock in seconds."""

    until_s: float
    clock: Callable[[], float]

    def look(self) -> None:
        """Raises OverTime once the time is over."""
        if self.clock() > self.until_s:
            raise OverTime


def apart_mm(one_mm: Point, other_mm: Point) -> float:
    """How far two points are apart."""
    return math.dist(one_mm, other_mm)
