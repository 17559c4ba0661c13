"""What moves a part held by a gripper from one step to the next, and in a step, and in how many seconds.

Between two steps the part is turned as the order says: by the arm with the grip it has, by the gripper itself, or put
down and taken up anew. Within a step the gripper goes with the sheet, or lets go while the tools hold it and takes the
same place again, or another. Seconds are told as what they are more than the order's own moves take, which is never
less than nothing.
"""

import itertools
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from flangewise.handling.gripper import Grip, GripperShape
from flangewise.handling.step_grips import StepGrips
from flangewise.records import dataclass
from flangewise.shop import ArmTurn, Handler

Floats = NDArray[np.float64]


MoveBy = Literal["arm", "gripper"]
MachineAxis = Literal["plane", "bed", "front", "tilt"]
Within = Literal["follow", "float", "release", "regrip-in-tools", "by-hand"]
Between = Literal["keep", "in-hand", "by-arm", "station", "pick", "by-hand"]


class Pose(NamedTuple):
    """How the part lies: marked face up, and the start edge behind."""

    marked_up: bool
    start_behind: bool


@dataclass(frozen=True)
class Turn:
    """Half a turn of the part: about which axis of the machine, by arm or gripper, and its seconds.

    `plane`: in the plane of the sheet; `bed`: over about the axis along the bed; `front`: over from side to side;
    `tilt`: a panel onto another of its faces.
    """

    axis: MachineAxis
    by: MoveBy
    seconds_s: float


@dataclass(frozen=True)
class StepHolds:
    """One step as the way through sees it: its pose, its grips, and the seconds that following each grip takes more.

    `turns_in_hand`: for each grip whether the part may be turned by the gripper itself before the step.
    """

    pose: Pose
    grips: StepGrips
    followed_s: Floats
    floats: NDArray[np.bool_]
    before_turns: tuple[Grip | None, ...] = ()


class Moves:
    """What moves a part with a gripper's grips from one pose to another, and in how many seconds more than `best`."""

    def __init__(self, handler: Handler, shape: GripperShape, grips: Sequence[Grip], *, alike: bool = False) -> None:
        """`handler` with its own seconds, as the shop has them.

        `alike`: what is one grip here may be two on the blanks of other tools, and the part changed from one to the
        other.
        """
        self._alike = alike
        assert handler.gripper is not None
        self._handler, self._best, self.row = handler, handler.at_best, handler.gripper
        self._shape, self.grips = shape, tuple(grips)
        self._numbers = {grip: number for number, grip in enumerate(self.grips)}
        self._tables: dict[
            tuple[Pose, Pose, bytes], tuple[Floats, dict[tuple[int, int], tuple[Between, tuple[Turn, ...]]]]
        ] = {}

    def base_s(self, before: Pose, after: Pose) -> float:
        """What the order itself reckons for the turns."""
        return _base_s(self._best, before.marked_up != after.marked_up, before.start_behind != after.start_behind)

    def turns_of(self, grip: Grip, axis: MachineAxis) -> Iterator[tuple[Turn, Grip]]:
        """Ways to make one half turn with a grip, and the grip after it: the arm keeps it, the gripper turns in it."""
        about = _about(grip, axis)
        if about is None:
            return
        seconds = {"plane": "turn", "bed": "turn-over-bed", "front": "turn-over-front"}
        if about in self.row.arm_turns or (
            grip.kind == "face" and axis == "plane" and {"normal", "approach"} & set(self.row.arm_turns)
        ):
            yield Turn(axis, "arm", self._handler.seconds_of(seconds[axis])), grip  # type: ignore[arg-type]
        if about == "across":
            return
        for own in {"normal", "approach"} if grip.kind == "face" else {about}:
            by_hand_s = self.row.turns_by_hand_s(own)  # type: ignore[arg-type]
            turned = grip.turned(self._shape, own)  # type: ignore[arg-type]
            if by_hand_s is not None and turned is not None:
                yield Turn(axis, "gripper", by_hand_s), turned

    def sequences(self, grip: Grip, over: bool, swap: bool) -> Iterator[tuple[tuple[Turn, ...], Grip]]:
        """Ways to bring the part into another pose in hand: one turn, or a turn over and one in the plane."""
        if not over and not swap:
            yield (), grip
            return
        direct = "plane" if not over else "bed" if swap else "front"
        for turn, after in self.turns_of(grip, direct):  # type: ignore[arg-type]
            yield (turn,), after
        if over:
            other = "front" if swap else "bed"
            for first, between in self.turns_of(grip, other):  # type: ignore[arg-type]
                for second, after in self.turns_of(between, "plane"):
                    yield (first, second), after

    def table(
        self, before: Pose, after: Pose, may_turn: NDArray[np.bool_]
    ) -> tuple[Floats, dict[tuple[int, int], tuple[Between, tuple[Turn, ...]]]]:
        """Seconds more [grip before, grip after] between two poses, and how; `may_turn`: who has room in hand."""
        key = (before, after, may_turn.tobytes())
        if key not in self._tables:
            self._tables[key] = self._made(before, after, may_turn)
        return self._tables[key]

    def between(self, before: StepHolds, after: StepHolds, may_turn: NDArray[np.bool_]) -> Floats:
        """Seconds more [grip with which a step is left, grip with which the next is come to]."""
        return self.table(before.pose, after.pose, may_turn)[0]

    def how(
        self, before: StepHolds, after: StepHolds, may_turn: NDArray[np.bool_], one: int, other: int
    ) -> tuple[Between, tuple[Turn, ...]]:
        """What is done from one grip to another between two steps."""
        return self.table(before.pose, after.pose, may_turn)[1][one, other]

    def picked_at(self, step: StepHolds) -> NDArray[np.bool_]:
        """Grips with which a blank comes from the stack to the first step."""
        return self.picked(step.pose)

    def _made(
        self, before: Pose, after: Pose, may_turn: NDArray[np.bool_]
    ) -> tuple[Floats, dict[tuple[int, int], tuple[Between, tuple[Turn, ...]]]]:
        over, swap = before.marked_up != after.marked_up, before.start_behind != after.start_behind
        base_s, count = self.base_s(before, after), len(self.grips)
        more = np.full((count, count), np.inf)
        how: dict[tuple[int, int], tuple[Between, tuple[Turn, ...]]] = {}
        least_over = np.full(count, np.inf)
        turned_over: dict[int, Turn] = {}
        for one, grip in enumerate(self.grips):
            for turns, held in self.sequences(grip, over, swap):
                other = self._numbers.get(held)
                if other is None or (any(turn.by == "gripper" for turn in turns) and not may_turn[one]):
                    continue
                own_s = max(sum(turn.seconds_s for turn in turns) - base_s, 0.0)
                if own_s < more[one, other]:
                    more[one, other] = own_s
                    in_hand = any(turn.by == "gripper" for turn in turns)
                    how[one, other] = ("in-hand" if in_hand else "by-arm" if turns else "keep", turns)
            if over:
                for axis in ("bed", "front"):
                    for turn, _ in self.turns_of(grip, axis):
                        if (turn.by == "arm" or may_turn[one]) and turn.seconds_s < least_over[one]:
                            least_over[one], turned_over[one] = turn.seconds_s, turn
        if self.row.regrip_station:
            self._at_station(more, how, over, base_s, least_over, turned_over, before, after)
        return more, how

    def _at_station(
        self,
        more: Floats,
        how: dict[tuple[int, int], tuple[Between, tuple[Turn, ...]]],
        over: bool,
        base_s: float,
        least_over: Floats,
        turned_over: dict[int, Turn],
        before: Pose,
        after: Pose,
    ) -> None:
        """The part put down and taken up with another grip; in the plane it is taken up from another side, which takes
        what the order reckons for it.

        Turned over by the grip that lets go it is put down as it is to lie, by the one that takes it as it lay: either
        way both grips have it on the station alike.
        """
        lay, lies = (np.array([self._lies_for(grip, pose) for grip in self.grips]) for pose in (before, after))
        for one, other in itertools.product(range(len(self.grips)), repeat=2):
            if one == other and not self._alike:
                continue
            ways = [by for by, may in ((one, lies), (other, lay)) if may[one] and may[other]]
            if not ways:
                continue
            by = min(ways, key=lambda number: float(least_over[number]))
            own_s = self._handler.regrip_s + max((float(least_over[by]) if over else 0.0) - base_s, 0.0)
            if own_s < more[one, other]:
                more[one, other] = own_s
                how[one, other] = ("station", (turned_over[by],) if over else ())

    def _lies_for(self, grip: Grip, pose: Pose) -> bool:
        """Whether a part held so can be put on the station, or taken from it: not from below where it is a table."""
        return grip.kind != "face" or grip.marked == pose.marked_up or self.row.from_below_at_station

    def picked(self, pose: Pose) -> NDArray[np.bool_]:
        """Grips that take a blank from the stack."""
        return are_picked(self.grips, pose)

    def within(self, step: StepHolds) -> Floats:
        """Seconds more [grip with which it comes, grip with which it leaves] of one step."""
        row, grips = self.row, step.grips
        count = len(self.grips)
        more = np.full((count, count), np.inf)
        if grips.single and row.regrip_in_tools_s is not None:
            anew = np.outer(grips.drawn_away, grips.drawn_near)
            more[anew] = row.regrip_in_tools_s
        own = np.where(grips.through, np.where(step.floats, 0.0, step.followed_s), np.inf)
        if grips.single and row.release_s is not None:
            own = np.minimum(own, np.where(grips.drawn_away & grips.drawn_near, row.release_s, np.inf))
        np.fill_diagonal(more, np.minimum(own, np.diag(more)) if self._alike else own)
        return more

    def doing(self, step: StepHolds, grip: int, grip_out: int) -> Within:
        """What the gripper does in a step that it is held with these two grips."""
        if grip != grip_out:
            return "regrip-in-tools"
        if step.grips.through[grip] and step.floats[grip]:
            return "float"
        released_s = self.row.release_s
        can_release = (
            released_s is not None and step.grips.single and step.grips.drawn_away[grip] and step.grips.drawn_near[grip]
        )
        follows = step.grips.through[grip] and np.isfinite(step.followed_s[grip])
        if follows and not (can_release and released_s is not None and released_s < step.followed_s[grip]):
            return "follow"
        return "release"


def are_picked(grips: Sequence[Grip], pose: Pose) -> NDArray[np.bool_]:
    """Which grips take a blank from the stack as it is to lie: not from below."""
    return np.array([grip.kind != "face" or grip.marked == pose.marked_up for grip in grips], dtype=bool)


def _about(grip: Grip, axis: MachineAxis) -> ArmTurn | None:
    """About which of its own axes a gripper turns the part: its approach lies across the bed at an edge in front, along
    it at the part's end, and stands on the sheet on a face."""
    if axis == "plane":
        return "normal"
    if grip.kind == "face":
        return "across"
    return "approach" if (axis == "front") == (grip.kind == "edge") else None


@lru_cache(maxsize=64)
def _base_s(best: Handler, over: bool, swap: bool) -> float:
    plane, bed, front = best.turn_s, best.turn_over_bed_s, best.turn_over_front_s
    if not over:
        return plane if swap else 0.0
    direct, other = (bed, front) if swap else (front, bed)
    return min(direct, other + plane)
