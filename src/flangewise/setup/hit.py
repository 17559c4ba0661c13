"""One stroke to be set up: the step of the order that it belongs to, and the pair that makes it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from flangewise.findings import place
from flangewise.part import Part, WantedBend
from flangewise.punch_die import Mounting, PunchDie
from flangewise.sequence import Step
from flangewise.setup.tolerance import angle_tolerance
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
