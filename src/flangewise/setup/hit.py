"""One stroke to be set up: the step of the order that it belongs to, the pair that makes it, and what it may be off.

What the drawing allows of angles and legs is its own figure, else ISO 2768-1 m.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from flangewise.bend import angle_tolerance_deg, linear_tolerance_mm
from flangewise.findings import place
from flangewise.part import Part, WantedBend
from flangewise.punch_die import Mounting, PunchDie
from flangewise.sequence import Step
from flangewise.words import Phrase

HitKind = Literal["bend", "pre-bend", "flatten", "offset"]


@dataclass(frozen=True)
class PlannedHit:
    """One stroke: its number in the plan, the step and the bend it belongs to, its pair, and whether it is the second.

    `tolerance_deg` is what the drawing allows the angle, plus and minus, None where that is not looked at.
    """

    number: int
    step: Step
    bend: WantedBend
    mounting: Mounting
    tolerance_deg: float | None = None
    is_second: bool = False

    @property
    def pair(self) -> PunchDie:
        """The pair, whichever way round."""
        return self.mounting.pair

    @property
    def place(self) -> Phrase:
        """The step of the plan, as a finding names it."""
        return place("step", self.number)

    @property
    def kind(self) -> HitKind:
        """What the stroke does."""
        return "pre-bend" if self.pair.kind == "hem" else self.pair.kind

    @property
    def finished_turn_deg(self) -> float:
        """What the stroke leaves: of a pre-bend its own turn, else the bend's."""
        own = self.pair.turn_deg
        return own if self.kind == "pre-bend" and own is not None else self.bend.turn_deg


def planned_hits(part: Part, taken: Iterable[tuple[Step, Mounting]]) -> tuple[PlannedHit, ...]:
    """The strokes of an order, each with its bend of the part and its own pair: a hem is made in two."""
    bends = {bend.number: bend for bend in part.section.bends}
    strokes = ((step, bends[int(step.label)], nth, hit) for step, taken_by in taken for nth, hit in taken_by.numbered)
    return tuple(
        PlannedHit(number, step, bend, mounting, angle_tolerance(part, bend), is_second=nth > 0)
        for number, (step, bend, nth, mounting) in enumerate(strokes, start=1)
    )


def angle_tolerance(part: Part, bend: WantedBend) -> float | None:
    """What a bend's angle is allowed, plus and minus, in degrees; ISO 2768-1 m goes by the shorter leg."""
    if bend.kind != "bend":
        return None
    wanted = bend.tolerance_deg if bend.tolerance_deg is not None else part.tolerances.angle_deg
    legs = part.outside_legs_mm
    return wanted if wanted is not None else angle_tolerance_deg(min(legs[bend.number - 1], legs[bend.number]))


def leg_tolerances_mm(part: Part) -> tuple[float | None, ...]:
    """What each leg is allowed, plus and minus, for the size as drawn."""
    return part.tolerances.legs_mm or tuple(linear_tolerance_mm(leg) for leg in part.section.legs_mm)
