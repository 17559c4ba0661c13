"""A plan of a section held by a gripper from the first step to the last: the least way, asked plan by plan."""

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Path, done_angles, section_path
from flangewise.handling.follow import Rise, floats, followed_s
from flangewise.handling.gripper import Grip, GripperShape, HeldPart
from flangewise.handling.grips import GripTable
from flangewise.handling.least_held import GripChanges, Gripping, LeastHeld
from flangewise.handling.moves import Moves, Pose, StepHolds
from flangewise.handling.step_grips import Around, StepGrips
from flangewise.handling.turning_room import may_turn
from flangewise.handling.way import NO_GRIP_S, HeldWay, least_way
from flangewise.records import dataclass
from flangewise.sequence import Candidate, LeastWeight, PricedStep, SectionProblem, done_zones, stroke_of, wing_paths
from flangewise.shop import Handler

# The stroke of an operation's option: how its sheet rises, by number of its hit.
RiseOf = Callable[[int, int], Rise]


@dataclass(frozen=True)
class PointHeld:
    """A held point on its wing: where it is in the wing's own frame, and how fast it goes at most."""

    point_mm: tuple[float, float]
    factor: float
    travels_mm: float
    ram_mm_per_s: float
    followed_s: float
    follow_ram_mm_per_s: float


class GripPlanner:
    """All plans of one problem held by one gripper; what is found of a step is kept for the plans after it."""

    def __init__(
        self,
        problem: SectionProblem,
        part: HeldPart,
        handler: Handler,
        rise_of: RiseOf | None,
        *,
        opening_mm: float,
        slack_mm: float = 0.0,
        always_by_hand: int = 0,
    ) -> None:
        """`handler` as the shop has it, with a gripper; `opening_mm`: what is kept in hand over the sheet at least.

        `rise_of` None: for a bound alone, in which following the sheet takes nothing and all have room to turn.
        `slack_mm`: how far a grip may be from here on the blanks of other tools, as of `InHand`. `always_by_hand`: how
        many steps of every plan no grip holds; plans are weighed by those beyond.
        """
        assert handler.gripper is not None
        self.problem, self.part, self.handler = problem, part, handler
        self.shape = GripperShape(handler.gripper)
        self.table = GripTable(problem, part, self.shape, Around(opening_mm), slack_mm=slack_mm)
        self.moves = Moves(handler, self.shape, self.table.grips, alike=slack_mm > 0)
        self._rise_of, self.always_by_hand = rise_of, always_by_hand
        self._holds: dict[tuple[Candidate, int, tuple[float, float] | None], StepHolds] = {}
        self._rooms: dict[int, NDArray[np.bool_]] = {}
        self._rises: dict[tuple[int, int], Rise] = {}
        self._ways: dict[tuple[PricedStep, ...], HeldWay] = {}

    @property
    def grips(self) -> tuple[Grip, ...]:
        """All grips, by their number."""
        return self.table.grips

    def way(self, made: Iterable[PricedStep]) -> HeldWay:
        """The least way to hold a plan."""
        plan = tuple(made)
        if plan not in self._ways:
            dones = dones_of(plan)
            steps = [self.holds(step, done) for step, done in zip(plan, dones, strict=True)]
            rooms = [self._room(done) for done in dones]
            self._ways[plan] = least_way(steps, self.moves, rooms)
        return self._ways[plan]

    def more_s(self, made: Iterable[PricedStep]) -> float:
        """Seconds that holding a plan takes beyond what its order reckons, the handler's allowance included, and
        `NO_GRIP_S` for each step by hand that another plan could be without."""
        way = self.way(made)
        own_s = (1 + self.handler.allowance_share) * (way.more_s - NO_GRIP_S * way.by_hand)
        return own_s + NO_GRIP_S * self.more_by_hand(way)

    def more_by_hand(self, way: HeldWay) -> int:
        """How many steps of a plan no grip holds beyond those that any plan has."""
        return way.by_hand - self.always_by_hand

    def least(self, order: LeastWeight) -> LeastHeld:
        """The bound of all plans of the problem: what `order` says of their steps, and what their grips take."""
        share = 1 + self.handler.allowance_share
        gripping = Gripping(self.moves, self._may_hold, self._within, self._room, share)

        def struck(operation: int, option: int, pose: Pose, done: int) -> bool:
            return order.is_struck(PricedStep(operation, option, None, *pose), done)

        stations = [
            [(each.entry.punch, each.entry.die, each.entry.turned) for each in operation.options]
            for operation in self.problem.operations
        ]
        changes = GripChanges(struck, stations, self.problem.costs.station_change + self.problem.costs.tool_change)
        steps = tuple(order.steps())
        return LeastHeld(steps, order.moves_s, gripping, changes, always_by_hand=self.always_by_hand)

    def _within(self, operation: int, option: int, pose: Pose, done: int) -> NDArray[np.float64]:
        return self.moves.within(self.holds(PricedStep(operation, option, None, *pose), done))

    def _may_hold(self, operation: int, pose: Pose, done: int) -> NDArray[np.bool_]:
        """Which grips may hold a step with any tools: none behind but at the part's end, an edge with its arm in front,
        strong enough before it and after."""
        first, last = self.problem.operations[operation].zones[0], self.problem.operations[operation].zones[-1]
        strong = [each for made in (done, done | 1 << operation) for each in self.table.strong(made)]

        def fits(grip: Grip) -> bool:
            in_front = (grip.flat > last) == pose.start_behind and not first < grip.flat <= last
            edge_fits = grip.kind != "edge" or grip.toward_end == pose.start_behind
            return grip.kind == "end" or (in_front and edge_fits)

        found: NDArray[np.bool_] = np.array([fits(grip) for grip in self.grips], dtype=bool)
        for each in strong:
            found &= each
        return found

    def grips_at(self, step: PricedStep, done: int) -> StepGrips:
        """Which grips hold at a step."""
        at = step.gauging
        return self.table.at(way_of(step), done, stops_mm=None if at is None else (at.x_mm, at.r_mm))

    def holds(self, step: PricedStep, done: int) -> StepHolds:
        """One step with what each grip takes to follow it."""
        at = step.gauging
        key = (way_of(step), done, None if at is None else (at.x_mm, at.r_mm))
        if key not in self._holds:
            grips = self.grips_at(step, done)
            if self._rise_of is None:
                return self._followed_freely(step, grips)
            points = [self.point(step, done, number) if usable else None for number, usable in enumerate(grips.through)]
            self._holds[key] = StepHolds(
                pose=Pose(step.marked_up, step.start_behind),
                grips=grips,
                followed_s=np.array([math.inf if each is None else each.followed_s for each in points]),
                floats=np.array(
                    [each is not None and floats(self.shape, each.travels_mm) for each in points], dtype=bool
                ),
            )
        return self._holds[key]

    def _followed_freely(self, step: PricedStep, grips: StepGrips) -> StepHolds:
        count = len(self.grips)
        pose = Pose(step.marked_up, step.start_behind)
        return StepHolds(pose, grips, np.zeros(count), np.zeros(count, dtype=bool))

    def point(self, step: PricedStep, done: int, number: int) -> PointHeld | None:
        """How a grip's point goes in a step; None where the grip lies on no wing of it."""
        frame = self.grips_at(step, done).frames[number]
        if frame is None:
            return None
        way = way_of(step)
        operation = self.problem.operations[step.operation]
        hit = operation.options[step.option].hits[0]
        if hit.kind != "swing":
            return PointHeld((0.0, 0.0), 1.0, 0.0, 0.0, 0.0, 0.0)
        swung = stroke_of(self.problem.chain, operation, hit)
        across, up = (float(each) for each in frame.at_mm - 0.0)
        edge_across, edge_up = (float(each) for each in swung.edge_mm(0.0))
        point_mm = (abs(across) - edge_across, up - edge_up)
        rise = self.rise(step.operation, step.option)
        factor, travels_mm = rise.speed_factor(point_mm), rise.travels_mm(point_mm)
        reach_mm = max(
            float(np.hypot(*wing.points_mm.T).max()) + swung.zone_mm / 2 for wing in wing_paths(self.problem, way, done)
        )
        ram = float(hit.time.ram_speeds_mm_per_s(np.array([reach_mm]))[0]) if hit.time is not None else 0.0
        gripper = self.shape.row
        if ram <= 0:
            return PointHeld(point_mm, factor, travels_mm, ram, 0.0, ram)
        more_s, slow = followed_s(factor, hit, ram_mm_per_s=ram, follow_mm_per_s=gripper.follow_mm_per_s)
        return PointHeld(point_mm, factor, travels_mm, ram, more_s, slow)

    def rise(self, operation: int, option: int) -> Rise:
        """How the sheet rises in the first stroke of an operation with a choice of tools."""
        assert self._rise_of is not None
        if (operation, option) not in self._rises:
            self._rises[operation, option] = self._rise_of(operation, option)
        return self._rises[operation, option]

    def path(self, done: int) -> Path:
        """The section in its own frame when a set of operations is made."""
        chain = self.part.chain
        return section_path(chain, done_angles(chain, done_zones(self.problem, done)))

    def _room(self, done: int) -> NDArray[np.bool_]:
        """Which grips have room to turn the part in hand when a set of operations is made."""
        if done not in self._rooms:
            if self._rise_of is None:
                self._rooms[done] = np.ones(len(self.grips), dtype=bool)
            elif not self.shape.row.turning:
                self._rooms[done] = np.zeros(len(self.grips), dtype=bool)
            else:
                self._rooms[done] = np.array(may_turn(self.grips, self.shape, self.part, self.path(done)), dtype=bool)
        return self._rooms[done]


def way_of(step: PricedStep) -> Candidate:
    """How a step of a plan is done, as the search has it."""
    return Candidate(step.operation, step.option, step.marked_up, 0 if step.start_behind else 1)


def dones_of(plan: Sequence[PricedStep]) -> list[int]:
    """For each step, the set of operations made before it."""
    found, done = [], 0
    for step in plan:
        found.append(done)
        done |= 1 << step.operation
    return found
