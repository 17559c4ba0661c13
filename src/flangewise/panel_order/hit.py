"""One hit of a panel: what its wings forbid to tools, whether they meet, where stops touch, how it lies and leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from flangewise.clearance import Runs, Stretches
from flangewise.panel_order.operations import PanelOperation
from flangewise.sequence import Backgauge, Hit as ToolHit, Hold, HoldRule


@dataclass(frozen=True)
class Fingers:
    """The stops of a machine: reach and shape, how wide a finger is, how near two may come, what is wished of them.

    `travel_mm` is the travel along the bed, from its left end. The wishes are seconds, as in `Costs`.
    """

    gauge: Backgauge
    count: int
    width_mm: float
    least_spacing_mm: float
    formed_wish_s: float
    past_bend_wish_s: float
    one_finger_wish_s: float


@dataclass(frozen=True)
class PanelGauging:
    """What the stops touch before a hit: the straight edge of a flat face, or a formed flange, behind.

    `x_mm`: stop face from the die's centre plane; `r_mm`: lower edge of the finger above the die's top; `z_mm`: the
    middles of the fingers along the bed from the left end of the bend line, one or two; `retract_mm`: how far they
    must go back after the pinch. `wishes_s`: what it costs beside the best, each by its name.
    """

    on: Literal["edge", "flange"]
    face: int
    face_name: str
    x_mm: float
    r_mm: float
    height_mm: float
    z_mm: tuple[float, ...]
    retract_mm: float
    past_bends: bool
    wishes_s: tuple[tuple[str, float], ...] = ()

    @property
    def wish_s(self) -> float:
        """All of its wishes."""
        return sum(price for _, price in self.wishes_s)


@dataclass(frozen=True)
class SelfMeeting:
    """Two faces of the part that meet while the bend is made; so it is whenever `bends` are bent as they are then."""

    faces: tuple[int, int]
    turn_deg: float
    overlap_mm: float
    bends: frozenset[int]


@dataclass(frozen=True)
class StandingRow:
    """A punch row at its place: its left end from the bend line's left end, and how long its ears' feet stand alone."""

    from_mm: float
    length_mm: float
    foot_left_mm: float = 0.0
    foot_right_mm: float = 0.0


@dataclass(frozen=True)
class Leaving:
    """How a part leaves: straight up with the punch raised, to the front, or turned in its plane from under the punch.

    `opening_mm`: between die top and nose; `turn_deg`: least and greatest turn that lets it pass.
    """

    way: Literal["up", "front", "turned"]
    opening_mm: float
    turn_deg: tuple[float, float] | None = None


class Hit:
    """An operation in one pose with one set of tools; answers are kept. `done`: the bends bent before."""

    def __init__(
        self,
        shapes: object,
        operation: PanelOperation,
        *,
        parent_behind: bool,
        tools: ToolHit,
        foot_mm: float | None = None,
        fingers: Fingers | None = None,
    ) -> None:
        """`shapes`: the blank's `PanelShapes`, shared by all its hits; `foot_mm`: how high the foot of an ear is."""
        raise NotImplementedError

    @property
    def runs_mm(self) -> Runs:
        """The bends along the bed, from the left end of the leftmost."""
        raise NotImplementedError

    @property
    def faces(self) -> tuple[int, ...]:
        """All faces of both wings."""
        raise NotImplementedError

    def depends(self, face: int) -> tuple[int, ...]:
        """The bends between a face and the bend line, nearest first: what the face forbids hangs on them alone."""
        raise NotImplementedError

    def forbids(self, face: int, done: frozenset[int]) -> Stretches:
        """What one face forbids; fatal too where a face before it on the way from the bend is."""
        raise NotImplementedError

    def forbidden(self, done: frozenset[int]) -> Stretches:
        """What all faces forbid together."""
        raise NotImplementedError

    def meets_itself(self, done: frozenset[int]) -> SelfMeeting | None:
        """The meeting of the two wings through the stroke, the one that hangs on the fewest bends."""
        raise NotImplementedError

    def stops(self, done: frozenset[int]) -> tuple[PanelGauging, ...]:
        """Where stops may touch, best first."""
        raise NotImplementedError

    def opening_mm(self, done: frozenset[int]) -> float:
        """What must pass between die and nose: the highest of what stands up and the deepest of what hangs down."""
        raise NotImplementedError

    def reach_mm(self, done: frozenset[int]) -> float:
        """How far the part reaches out in front."""
        raise NotImplementedError

    def hold(self, done: frozenset[int], rule: HoldRule) -> Hold:
        """How it lies before the hit."""
        raise NotImplementedError

    def leaves(self, done: frozenset[int], row: StandingRow) -> Leaving | None:
        """How the part leaves after the hit; None: not known."""
        raise NotImplementedError
