"""The answer of the search, as plain data."""

import math
from typing import Literal, NamedTuple

from flangewise.clearance import Outline, TiltedWay, ToolStack, outline_of
from flangewise.geometry import Chain, Path
from flangewise.records import dataclass
from flangewise.sequence.hold import BREACH_S, Hold
from flangewise.sequence.moves import Move
from flangewise.sequence.problem import Datum

End = Literal["start", "end"]
OpeningReason = Literal["this-bend", "stands-behind", "hangs-below", "side-exit", "tilted"]
Against = Literal["behind", "front", "self", "stop", "exit"]


@dataclass(frozen=True)
class Gauging:
    """What the stops touch before a hit: `zone` is the bend's zone for a formed flange, None for a raw edge.

    `x_mm`: stop face from the die's centre plane; `r_mm`: lower edge of the finger above the die top;
    `retract_mm`: how far the stop must go back after the pinch (0: not at all); `slope_deg`: slope of the
    face whose raw edge is touched; `height_mm`: of the middle of the stop face above the die top.
    `on_its_edge`: a leaning flange is touched at its own raw edge, so that its length counts.
    """

    on: Datum
    zone: int | None
    x_mm: float
    r_mm: float
    retract_mm: float
    slope_deg: float
    height_mm: float = 0.0
    on_its_edge: bool = False


class PricedStep(NamedTuple):
    """What a price on all steps of a plan together is asked of: the operation, the option of tools, what the stops
    touch, and how the part lies."""

    operation: int
    option: int
    gauging: Gauging | None
    marked_up: bool
    start_behind: bool


@dataclass(frozen=True)
class FoldedSection:
    """The sheet in machine coordinates at one moment: its outline, and where each of its flats lies.

    `flats_mm`: the two ends of each flat in the middle of the sheet, from the start edge on.
    """

    outline_mm: Outline
    flats_mm: tuple[Outline, ...]


def folded_section(path: Path, chain: Chain, *, start_behind: bool) -> FoldedSection:
    """The sheet about a path that runs from behind to the front."""
    ends = (path.ends_mm(2 * flat) for flat in range(chain.bends + 1))
    flats_mm = tuple(outline_of(each if start_behind else each[::-1]) for each in ends)
    return FoldedSection(outline_of(path.outline_mm(chain.thickness_mm)), flats_mm)


@dataclass(frozen=True)
class Tilted:
    """Ways in and out of the tools tilted, the one in read backward; None for one that is level.

    `open_height_mm`: from die top to nose all the while, what is kept in hand included.
    """

    way_in: TiltedWay | None
    way_out: TiltedWay | None
    open_height_mm: float

    @property
    def count(self) -> int:
        """How often the part is tilted."""
        return (self.way_in is not None) + (self.way_out is not None)


@dataclass(frozen=True, kw_only=True)
class MadeStep:
    """What is known of any operation of a plan, of a section or of a panel.

    `hold`: how the part lies before the hit (None: not looked at). `wishes_s`: what the step costs for wishes, by name,
    in seconds. `clearance_mm`: least distance of the part to tools and machine through the stroke, apart from where it
    is meant to touch (None: nothing to measure). `least_opening_mm`: what must pass between die top and nose,
    `open_height_mm` the same as it was looked at, whose reason is the next; `reach_mm`: how far the part reaches from
    the bend line before the hit. `cost`: all of the step, moves included. `tilted`: the ways in and out where it does
    not go level (None: it does).
    """

    marked_up: bool
    cost: float
    clearance_mm: float | None
    open_height_mm: float | None
    opening_reason: OpeningReason | None
    side_exit: bool
    least_opening_mm: float
    reach_mm: float
    hold: Hold | None
    wishes_s: tuple[tuple[str, float], ...]
    tilted: Tilted | None = None

    @property
    def most_opening_mm(self) -> float:
        """Opened further than this the tools strike the part that lies there: what a section lies under goes up."""
        return math.inf


@dataclass(frozen=True, kw_only=True)
class Step(MadeStep):
    """One operation of a plan. `done` is the set of operations made before it, bit i for operation i.

    `stacks`: one for each hit. `moves`: what to do with the part before it. `lift_mm`: least opening from the bottom of
    the stroke for loading and taking out, as `open_height_mm` is from die top to punch nose; None where not looked at;
    `opening_piece`: span of the piece that decides. `before` and `after`: the sheet flat in the tools and at the bottom
    of the stroke of the last hit.
    """

    operation: int
    label: str
    option: int
    stacks: tuple[ToolStack, ...]
    behind: End
    gauged: Gauging | None
    moves: tuple[Move, ...]
    tool_changed: bool
    done: int
    lift_mm: float | None
    opening_piece: int | None
    before: FoldedSection
    after: FoldedSection


@dataclass(frozen=True)
class Blocker:
    """Why an operation cannot be made: while the operations of `bent` are made and those of `flat` are not.

    `bodies` meet (tool or machine body names; "part" where the part meets itself), by `overlap_mm`; `piece`
    is the span of the part concerned (2 f flat f, 2 z + 1 zone z). `against` says where: the wing behind or in
    front meets tools, the part meets itself, the stops find nothing to touch, there is no way in or out.
    `step`: as which step of a plan it was tried.
    """

    operation: int
    bent: tuple[int, ...]
    flat: tuple[int, ...]
    against: Against
    bodies: tuple[str, ...]
    overlap_mm: float | None
    piece: int | None
    stack: str | None
    marked_up: bool | None
    behind: End | None
    step: int

    @property
    def body(self) -> str:
        """What the piece of the part meets: a body of tools or machine, the stop, or the part itself."""
        others = [body for body in self.bodies if body != "part"]
        return others[0] if others else ("stop" if self.against == "stop" else "part")


@dataclass(frozen=True)
class Solution:
    """What is known about a problem.

    `feasible` True with a plan, False with a proof that there is none, None when the search gave up. `proven_least`:
    no feasible order costs less. `lower_bound`: no plan costs less than this. `breach`: by how much the hold rule is
    broken in all, 0 where every step keeps it; no order breaks it less where least is proven. `loose_s`: of the cost,
    what legs are priced with whose tolerance the gauging is not likely to hold. `least_weight`: what no plan weighs
    less than. `blockers`: why not, worst first (for an infeasible part). `visited`: sets of done operations looked at.
    """

    feasible: bool | None
    proven_least: bool
    cost: float | None
    lower_bound: float | None
    steps: tuple[Step, ...]
    blockers: tuple[Blocker, ...]
    visited: int
    breach: float = 0.0
    least_weight: float | None = None
    loose_s: float = 0.0

    @property
    def weight(self) -> float:
        """What plans are compared by: a hold rule less broken comes before any number of seconds."""
        return math.inf if self.cost is None else self.cost + BREACH_S * self.breach

    @property
    def broken_s(self) -> float:
        """What a broken hold rule adds to the cost in the weight; 0 without a plan."""
        return 0.0 if self.cost is None else self.weight - self.cost

    @property
    def open_bound(self) -> float:
        """What a plan that was not found may still weigh at least; infinite where it is known what there is."""
        return math.inf if self.feasible is False or self.proven_least else self.least_weight or 0.0

    @property
    def priced_steps(self) -> tuple[PricedStep, ...]:
        """What a price on all steps together is asked of."""
        return tuple(
            PricedStep(step.operation, step.option, step.gauged, step.marked_up, step.behind == "start")
            for step in self.steps
        )

    @property
    def order(self) -> tuple[int, ...]:
        """Operation indices in the order they are made."""
        return tuple(step.operation for step in self.steps)
