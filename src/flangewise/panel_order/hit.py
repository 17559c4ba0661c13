"""One hit of a panel: what its wings forbid to tools, whether they meet, where stops touch, how it lies and leaves."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from flangewise.clearance import (
    Runs,
    SpaceMeeting,
    Stretches,
    Stroke,
    ToolRegions,
    half_mm,
    solids_meet,
    together,
    tool_regions,
)
from flangewise.geometry import Points, SpacePoints
from flangewise.panel_order.gaps import clearance_mm
from flangewise.panel_order.gauging import Fingers, PanelGauging
from flangewise.panel_order.leaving import Leaving, StandingRow, leaves, leaves_turned
from flangewise.panel_order.lying import front_mm, hold, reach_mm, straight_pull_mm
from flangewise.panel_order.operations import PanelOperation
from flangewise.panel_order.stops import retract_mm, stops
from flangewise.panel_order.touching import Seen
from flangewise.panel_order.wings import PanelShapes, Wing
from flangewise.records import dataclass
from flangewise.sequence import Hit as ToolHit, Hold, HoldRule


@dataclass(frozen=True)
class SelfMeeting:
    """Two faces of the part that meet while the bend is made; so it is whenever `bends` are bent as they are then."""

    faces: tuple[int, int]
    turn_deg: float
    overlap_mm: float
    bends: frozenset[int]


class SpaceHit:
    """An operation in one pose with one set of tools; answers are kept. `done`: the bends bent before.

    The frame of a hit: x along the bed from left to right as the operator sees it, from the left end of the leftmost
    bend; y to the back from the bend line, z up from the die's top.
    """

    def __init__(
        self,
        shapes: PanelShapes,
        operation: PanelOperation,
        *,
        parent_behind: bool,
        tools: ToolHit,
        foot_mm: float | None = None,
        fingers: Fingers | None = None,
    ) -> None:
        """`shapes`: the blank's, shared by all its hits; `foot_mm`: how high the foot of an ear is (None: no ears).

        Of a hem this is its first hit, `PressedHit` the second.
        """
        self.shapes, self.operation, self.parent_behind = shapes, operation, parent_behind
        self.tools, self.foot_mm, self.fingers = tools, foot_mm, fingers
        self.seen = Seen()
        self.front = shapes.wing(operation, parent=not parent_behind)
        self.behind = shapes.wing(operation, parent=parent_behind)
        # Behind, a wing's first axis runs as the bed does; where the line runs against it, the bed begins at its end.
        self.shift_mm = 0.0 if operation.marked_up != parent_behind else operation.length_mm

    @property
    def marked_up(self) -> bool:
        """Which face lies up."""
        return self.operation.marked_up

    @property
    def runs_mm(self) -> Runs:
        """The bends along the bed, from the left end of the leftmost."""
        runs = self.operation.runs_mm
        if not self.shift_mm:
            return runs
        return tuple((self.shift_mm - high, self.shift_mm - low) for low, high in reversed(runs))

    @property
    def faces(self) -> tuple[int, ...]:
        """All faces of both wings."""
        return (*self.front.branches, *self.behind.branches)

    def depends(self, face: int) -> tuple[int, ...]:
        """The bends between a face and the bend line, nearest first: what the face forbids hangs on them alone."""
        return self._wing_of(face).branches[face].path

    def _wing_of(self, face: int) -> Wing:
        return self.front if face in self.front.branches else self.behind

    @cached_property
    def stroke(self) -> Stroke:
        """The stroke of the hit in numbers."""
        stack = self.tools.stack
        own_mm = self.operation.zones[0].allowance.allowance_mm
        return Stroke(
            opening_mm=stack.opening_mm,
            shoulder_radius_mm=stack.shoulder_radius_mm,
            thickness_mm=self.shapes.blank.thickness_mm,
            radius_mm=self.tools.formed_radius_mm,
            zone_mm=own_mm if self.tools.zone_mm is None else self.tools.zone_mm,
            half_turn_deg=self.tools.loaded_turn_deg / 2,
        )

    def _regions(self, *, behind: bool) -> ToolRegions:
        return tool_regions(
            self.tools.stack,
            self.stroke,
            foot_mm=self.foot_mm,
            reach_mm=self.shapes.reach_mm,
            behind=behind and not self.tools.stack.symmetric,
        )

    @cached_property
    def _seen_regions(self) -> tuple[ToolRegions, ToolRegions]:
        """As the wing in front sees the tools, and the wing behind."""
        return self._regions(behind=False), self._regions(behind=True)

    def answers(self, face: int) -> tuple[Stretches, ...]:
        """What a face forbids in every state of the bends it depends on: bit j of the place for the j-th bend."""
        wing = self._wing_of(face)
        states = range(1 << len(wing.branches[face].path))
        found = self._asked(wing, [(face, state) for state in states])
        return tuple(found[face, state] for state in states)

    def prepare(self) -> None:
        """Works out what every face forbids in every state: all at once is quicker than one by one."""
        for wing in (self.front, self.behind):
            nodes = [(face, at) for face, branch in wing.branches.items() for at in range(1 << len(branch.path))]
            self._asked(wing, nodes)

    def forbids(self, face: int, done: frozenset[int]) -> Stretches:
        """What one face forbids; fatal too where a face before it on the way from the bend is."""
        wing = self._wing_of(face)
        node = face, wing.branches[face].state(done)
        return self._asked(wing, [node])[node]

    def forbidden(self, done: frozenset[int]) -> Stretches:
        """What all faces forbid together."""
        found: list[Stretches] = []
        for wing in (self.front, self.behind):
            found += self._asked(wing, wing.nodes(done)).values()
        return together(found)

    def _asked(self, wing: Wing, nodes: list[tuple[int, int]]) -> dict[tuple[int, int], Stretches]:
        """What faces of a wing forbid along the bed."""
        behind = wing is self.behind
        own = wing.forbids(self._seen_regions[behind], [node for node in nodes if (wing, node) not in self._kept])
        for node, found in own.items():
            self._kept[wing, node] = found.shifted(self.shift_mm) if behind else found.seen_from_ahead(self.shift_mm)
        return {node: self._kept[wing, node] for node in nodes}

    @cached_property
    def _met(self) -> dict[tuple[tuple[int, int], tuple[int, int]], SpaceMeeting | None]:
        return {}

    @cached_property
    def _kept(self) -> dict[tuple[Wing, tuple[int, int]], Stretches]:
        return {}

    def meets_itself(self, done: frozenset[int]) -> SelfMeeting | None:
        """The meeting of the two wings through the stroke, of those that hang on the fewest bends the deepest.

        Faces with no bent bend between lie on the die as the sheet does and are not looked at; nor is the bend itself.
        """
        found: list[SelfMeeting] = []
        for one, state in self.front.nodes(done):
            for other, its_state in self.behind.nodes(done):
                met = self._meeting((one, state), (other, its_state)) if state or its_state else None
                if met is not None:
                    between = frozenset(self.depends(one)) | frozenset(self.depends(other))
                    found.append(SelfMeeting((one, other), met.turn_deg, met.overlap_mm, between))
        return min(found, key=lambda met: (len(met.bends), -met.overlap_mm), default=None)

    def _meeting(self, front: tuple[int, int], behind: tuple[int, int]) -> SpaceMeeting | None:
        if (front, behind) not in self._met:
            half = half_mm(self.shapes.blank.thickness_mm)
            solids = self.front.solids(*front, half), self.behind.solids(*behind, half)
            self._met[front, behind] = solids_meet(*solids, self.stroke)
        return self._met[front, behind]

    def stops(self, done: frozenset[int]) -> tuple[PanelGauging, ...]:
        """All that stops may touch, best first; looked at once for what stands alike on both wings."""
        key = tuple(self.front.nodes(done)), tuple(self.behind.nodes(done))
        if key not in self._stops:
            self._stops[key] = stops(self, done)
        return self._stops[key]

    @cached_property
    def _stops(self) -> dict[object, tuple[PanelGauging, ...]]:
        return {}

    @property
    def lowest_mm(self) -> float:
        """How high the nose stands over the die's top at the bottom of the stroke."""
        return -float(self.stroke.depth_mm(self.stroke.half_turn_deg))

    def through_mm(self, points_mm: Points, count: int, *, behind: bool) -> SpacePoints:
        """Points (out, up) of a wing at moments of the stroke: toward the operator, over the die's top."""
        laid = self.stroke.laid_mm(points_mm, np.linspace(0.0, self.stroke.half_turn_deg, count))
        return laid * np.array([-1.0, 1.0]) if behind else laid

    def retract_mm(self, done: frozenset[int], gauged: PanelGauging) -> float:
        """How far fingers that stand so must go back before the wing behind rises."""
        return retract_mm(self, done, gauged)

    def opening_mm(self, done: frozenset[int]) -> float:
        """What must pass between die and nose for the part to come straight out to the front."""
        return straight_pull_mm(self, done)

    def reach_mm(self, done: frozenset[int]) -> float:
        """How far the part reaches from the bend line before the hit, to either side."""
        return reach_mm(self, done)

    def front_mm(self, done: frozenset[int]) -> float:
        """How far it reaches out in front of the die's centre plane then."""
        return front_mm(self, done)

    def hold(self, done: frozenset[int], rule: HoldRule) -> Hold:
        """How it lies before the hit."""
        return hold(self, done, rule)

    def leaves(
        self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None, *, turned: bool = True
    ) -> Leaving | None:
        """How the part leaves the rows after the hit; None: not known. Without a die row the die stands everywhere.

        `turned` False leaves out what takes longest to find, ways turned in the plane.
        """
        return leaves(self, done, row, die, turned=turned)

    def leaves_turned(self, done: frozenset[int], row: StandingRow) -> Leaving | None:
        """How it leaves turned in the plane alone, where no other way was found; None: not known."""
        return leaves_turned(self, done, row)

    def clearance_mm(self, done: frozenset[int], row: StandingRow, die: StandingRow | None = None) -> float | None:
        """How near the part comes to tools and machine through the stroke where rows stand; None: nothing counts."""
        return clearance_mm(self, done, row, die)
