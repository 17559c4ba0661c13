"""The question the search of a panel's order answers: operations, ways to make each, rows of segments, prices."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Protocol

from flangewise.clearance import Runs, Stretches
from flangewise.panel_order.gauging import PanelGauging
from flangewise.panel_order.hit import SelfMeeting
from flangewise.panel_order.leaving import Leaving, StandingRow
from flangewise.panel_order.moves import Lie
from flangewise.panel_order.operations import PanelOperation
from flangewise.panel_order.wings import Wing
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Mounting, Row, SegmentUse
from flangewise.records import dataclass, field
from flangewise.sequence import Costs, Hit as ToolHit, HoldRule, SearchLimits, StopTravel


class HitAnswers(Protocol):
    """What the search asks of one operation in one pose with one set of tools; bends done before by their numbers."""

    @property
    def runs_mm(self) -> Runs:
        """The bends along the bed, from the left end of the leftmost."""

    @property
    def faces(self) -> tuple[int, ...]:
        """All faces of both wings."""

    @property
    def front(self) -> Wing:
        """The wing in front; asked only where strokes or holding are priced."""

    @property
    def behind(self) -> Wing:
        """The wing behind, alike."""

    def depends(self, face: int) -> tuple[int, ...]:
        """The bends that what a face forbids hangs on."""

    def answers(self, face: int) -> tuple[Stretches, ...]:
        """What one face forbids in every state of these: bit j of the place for the j-th bend."""

    def forbidden(self, done: frozenset[int]) -> Stretches:
        """What all faces forbid together."""

    def opening_mm(self, done: frozenset[int]) -> float:
        """What must pass between die and nose; asked of a hem that is flattened only."""

    def meets_itself(self, done: frozenset[int]) -> SelfMeeting | None:
        """The meeting of the two wings through the stroke."""

    def stops(self, done: frozenset[int]) -> tuple[PanelGauging, ...]:
        """Where stops may touch, best first."""

    def retract_mm(self, done: frozenset[int], gauged: PanelGauging) -> float:
        """How far fingers that stand so must go back before the part rises; asked of the steps of a plan."""

    def clearance_mm(self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None) -> float | None:
        """Least distance from sheet to tools and machine through the stroke, None if nothing counts."""

    def leaves(
        self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None, *, turned: bool = True
    ) -> Leaving | None:
        """How the part leaves after the hit; None: not known. `turned`: whether ways turned in the plane count."""

    def leaves_turned(self, done: frozenset[int], row: StandingRow) -> Leaving | None:
        """How it leaves turned in the plane, asked where no other way was found; None: not known."""


@dataclass(frozen=True)
class PanelWay:
    """One way of making an operation: which tools (by their number), which wing behind, and how the part then lies.

    `made` are the tools as they are offered for this operation. `behind` are the bends that what stops find hangs on;
    with a side stop, for which `side_wish_s` is asked at least, what one finger finds hangs on those `beside` too.
    `wish_s`: what choosing these tools costs by itself. A hem is made in two hits that follow each other, the part
    lying alike: `then` is the way that flattens it, by its place among all; that one `is_second`.
    """

    operation: int
    mounting: int
    parent_behind: bool
    lie: Lie
    hit: HitAnswers
    tools: ToolHit
    made: Mounting
    behind: frozenset[int]
    wish_s: float = 0.0
    beside: frozenset[int] = frozenset()
    side_wish_s: float = math.inf
    then: int | None = None
    is_second: bool = False


@dataclass(frozen=True)
class RowRules:
    """How rows stand and what they cost. Seconds are a part's share.

    `clear_mm` between a row's end and the part; `free_short_mm` may be left uncovered where a bend ends free,
    `beside_short_mm` where something stands within `near_mm`; within a bend segments stand no more than `most_gap_mm`
    apart. `tool_s`: each punch and each die put in; `segment_s`:
    each segment; `ear_s`: each ear besides. `short_wish_s_per_mm`: a wish against each mm left uncovered.
    `change_s`: going to another station. Stations beside each other must fit on the bed of `bed_mm`, `gap_mm` apart, as
    wide as their rows or the part, `part_mm`, are; an endless bed where each is put in anew.
    """

    clear_mm: float
    free_short_mm: float
    beside_short_mm: float
    near_mm: float
    tool_s: float
    segment_s: float
    ear_s: float
    short_wish_s_per_mm: float
    change_s: float
    bed_mm: float = math.inf
    gap_mm: float = 0.0
    part_mm: float = 0.0
    most_gap_mm: float = 0.0


@dataclass(frozen=True)
class PanelRows:
    """The rows that one set of tools may stand in, each a punch row over a die row; and of punch and die their name and
    how many segments of each kind are held (nothing: as many as are wanted)."""

    pairs: tuple[tuple[Row, Row], ...]
    names: tuple[str, str] = ("", "")
    held: tuple[Mapping[SegmentUse, int], Mapping[SegmentUse, int]] = ({}, {})


@dataclass(frozen=True)
class PanelProblem:
    """A panel to be bent.

    `ways` of all operations, and those that flatten hems; `rows`: of each set of tools, by its number in the ways.
    `hold` None: how the part lies is not looked at. `order`: operations in a wanted order, to be checked and priced.
    `most_stations`: so many are looked at beside each other, one more where hems are flattened, one more for offsets.
    `ways_out`: whether it is looked at how the part comes out of the tools.
    """

    blank: PanelBlank
    operations: tuple[PanelOperation, ...]
    ways: tuple[PanelWay, ...]
    rows: tuple[PanelRows, ...]
    rules: RowRules
    costs: Costs = field(default_factory=Costs)
    hold: HoldRule | None = None
    stop_travel: StopTravel | None = None
    order: tuple[int, ...] | None = None
    most_stations: int = 3
    ways_out: bool = True
    limits: SearchLimits = field(default_factory=SearchLimits)

    def __post_init__(self) -> None:
        """Each operation has a way, and an order names each once."""
        if {way.operation for way in self.ways if not way.is_second} != set(range(len(self.operations))):
            raise ValueError("each operation needs a way to make it")
        if self.order is not None and sorted(self.order) != list(range(len(self.operations))):
            raise ValueError("an order names every operation once")

    @property
    def sets(self) -> int:
        """How many sets of operations there are."""
        return 1 << len(self.operations)

    @cached_property
    def flattened(self) -> tuple[int, ...]:
        """The operations that are made in two hits."""
        return tuple(sorted({way.operation for way in self.ways if way.is_second}))

    def bends_of(self, done: int) -> frozenset[int]:
        """The numbers of the bends of a set of operations."""
        return frozenset(bend for bend, place in self._places.items() if done >> place & 1)

    @cached_property
    def _places(self) -> Mapping[int, int]:
        return {bend: place for place, each in enumerate(self.operations) for bend in each.bends}

    def place_of(self, bend: int) -> int:
        """The place of the operation that makes a bend."""
        return self._places[bend]

    def mask_of(self, bends: frozenset[int] | Sequence[int]) -> int:
        """The set of the operations that make any of some bends."""
        return sum(1 << place for place in {self._places[bend] for bend in bends if bend in self._places})

    def names(self) -> Mapping[int, str]:
        """The names of the faces."""
        return {face.number: face.name for face in self.blank.faces}
