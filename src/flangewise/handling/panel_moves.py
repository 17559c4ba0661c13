"""What moves a panel held by a gripper from one step to the next: turned as its order says, by arm, gripper or station.

Each of the order's moves is a turn about an axis of the machine. Which of the gripper's own axes that is follows from
how the held face stands then: about its normal, along its approach, across it, or about none of them, which neither arm
nor gripper makes. A turn by the gripper itself is reckoned as half a turn whatever its angle, as the order does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Rotation, Vector, as_frame
from flangewise.handling.gripper import GripperShape
from flangewise.handling.moves import Between, Floats, MachineAxis, Moves, StepHolds, Turn
from flangewise.handling.panel_grip import PanelGrip, fold_of
from flangewise.handling.panel_passing import KeptInHand, Passing
from flangewise.handling.step_grips import LEANS_BACK, Ints
from flangewise.panel_order import Lie, PanelMove, PanelOperation, PanelStep, lie_of, stood
from flangewise.pattern import PanelBlank, base_turned
from flangewise.records import dataclass
from flangewise.shop import ArmTurn, Gripper, Handler, TurnAxis

Bools = NDArray[np.bool_]
Axes = NDArray[np.float64]
# An axis of the machine that lies so near to one of the gripper's is that one: 2 degrees.
SAME_AXIS = 0.9994
KEY_DIGITS = 5
_OVER: dict[str | None, tuple[MachineAxis, Vector]] = {
    "the bed": ("bed", (1.0, 0.0, 0.0)),
    "front to back": ("front", (0.0, 1.0, 0.0)),
}


@dataclass(frozen=True)
class TurnedPart:
    """One of an order's moves: about which axis of the machine (right, back, up), right-handed by how much."""

    axis: MachineAxis
    about: Vector
    angle_deg: float


@dataclass(frozen=True)
class BodyTurned:
    """How the body is turned about a part that it holds: about the normal of the marked face, counterclockwise; None:
    half about its arm, to the other side."""

    normal_deg: float | None


def turned_by(move: PanelMove) -> TurnedPart:
    """A move of a panel's order as a turn in the machine."""
    if move.move == "turn-over":
        name, about = _OVER[move.axis]
        return TurnedPart(name, about, 180.0)
    if move.move == "turn-in-plane":
        return TurnedPart("plane", (0.0, 0.0, 1.0), move.angle_deg or 0.0)
    at = math.radians(move.axis_deg or 0.0)
    # What lies to the right of the axis rises.
    return TurnedPart("tilt", (-math.cos(at), -math.sin(at), 0.0), move.angle_deg or 0.0)


@dataclass(frozen=True)
class PanelStepHolds(StepHolds):
    """A step of a panel: the moves before it, and each grip's own axes in the machine (columns: toward the arm, beside
    it, away from the sheet) as the part lies before these moves, and after them."""

    turned: tuple[TurnedPart, ...] = ()
    before: tuple[Axes, ...] = ()
    after: tuple[Axes, ...] = ()


def attitude(blank: PanelBlank, operation: PanelOperation, lie: Lie, done: frozenset[int]) -> Rotation:
    """How the base stands in the machine (right, back, up) where a part lies so for an operation, whatever is bent."""
    turned = stood(lie) @ np.array(base_turned(blank, operation.parents[0], done=done))
    return as_frame(turned, np.zeros(3)).rotation


def attitude_at(blank: PanelBlank, step: PanelStep, done: frozenset[int]) -> Rotation:
    """The same where it lies as for a step."""
    lie = lie_of(step.operation.zones[0].line_mm, marked_up=step.marked_up, parent_behind=step.parent_behind)
    return attitude(blank, step.operation, lie, done)


def axes_of(blank: PanelBlank, grips: Sequence[PanelGrip], base: Rotation, done: frozenset[int]) -> tuple[Axes, ...]:
    """Each grip's own axes in the machine, the base turned so and some bends bent."""
    fold = fold_of(blank, done)
    stands = {face: np.array(base) @ np.array(each.rotation) for face, each in fold.frames.items()}
    return tuple(stands[grip.face] @ np.array(grip.stand.rotation) for grip in grips)


def _rotation(turned: TurnedPart) -> Axes:
    x, y, z = turned.about
    angle = math.radians(turned.angle_deg)
    across = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    found: Axes = np.eye(3) + math.sin(angle) * across + (1.0 - math.cos(angle)) * across @ across
    return found


def about_of(axes: Axes, about: Vector) -> tuple[ArmTurn, float] | None:
    """Which of a gripper's own axes an axis of the machine is, and whether it runs as that does; None for none."""
    shares = np.array(about) @ axes
    names: tuple[ArmTurn, ...] = ("approach", "across", "normal")
    at = int(np.abs(shares).argmax())
    return None if abs(float(shares[at])) < SAME_AXIS else (names[at], math.copysign(1.0, float(shares[at])))


class PanelMoves(Moves):
    """What moves a panel with a gripper's grips from step to step, and in how many seconds more than its order says."""

    grips: tuple[PanelGrip, ...]  # type: ignore[assignment]

    def __init__(self, handler: Handler, shape: GripperShape, grips: Sequence[PanelGrip]) -> None:
        """`handler` with its own seconds, as the shop has them."""
        super().__init__(handler, shape, ())
        self.grips = tuple(grips)
        self._kept: dict[BodyTurned, Ints] = {}
        self._places = {_key(grip): number for number, grip in enumerate(self.grips)}

    def picked_at(self, step: StepHolds) -> Bools:
        """Grips with which a blank comes from the stack: on a face from above alone."""
        return are_from_above(self.grips, _panel(step).before)

    def between(self, before: StepHolds, after: StepHolds, may_turn: Bools) -> Floats:
        """Seconds more [grip with which a step is left, grip with which the next is come to]."""
        return self.passing(_panel(after)).table(may_turn)

    def passing(self, step: PanelStepHolds) -> Passing:
        """What all grips take for the moves before a step, whoever has room to turn the part in hand.

        Grips of one kind on one face with their arms alike go about the same axes: one stands for all of them.
        """
        base_s = sum(self._arm_s(turned, self._best) for turned in step.turned)
        over, found = np.full((2, len(self.grips)), math.inf), list[KeptInHand]()
        for alike in self._alike_grips:
            for changes, turns in self._ways(int(alike[0]), step):
                before, after, turned = alike, alike, list[Ints]()
                for turn, change in zip(turns, changes, strict=True):
                    turned += [after] if turn.by == "gripper" else []
                    if change is not None:
                        after = self._changed(change)[after]
                        kept = after >= 0
                        before, after, turned = before[kept], after[kept], [each[kept] for each in turned]
                more_s = max(sum(turn.seconds_s for turn in turns) - base_s, 0.0)
                found.append(KeptInHand(before, after, more_s, tuple(turned)))
            for row, has_room in enumerate((True, False)):
                own = self._over_turns(int(alike[0]), step, has_room=has_room)
                over[row, alike] = math.inf if own is None else sum(turn.seconds_s for turn in own)
        lies = self._lie_for(step.before), self._lie_for(step.after)
        regrip_s = self._handler.regrip_s if self.row.regrip_station else None
        return Passing(tuple(found), over, base_s, lies, regrip_s)

    @cached_property
    def _alike_grips(self) -> tuple[Ints, ...]:
        """Grips by what turns them alike."""
        found: dict[object, list[int]] = {}
        for number, grip in enumerate(self.grips):
            found.setdefault((grip.kind, grip.face, grip.arm, grip.marked), []).append(number)
        return tuple(np.array(each) for each in found.values())

    def _changed(self, change: BodyTurned) -> Ints:
        """For each grip the number of what it is once the body is turned about it; -1 where that is none of them."""
        if change not in self._kept:
            numbers = (self._number(_after(grip, change)) for grip in self.grips)
            self._kept[change] = np.array([-1 if each is None else each for each in numbers], dtype=np.int64)
        return self._kept[change]

    def how(
        self, before: StepHolds, after: StepHolds, may_turn: Bools, one: int, other: int
    ) -> tuple[Between, tuple[Turn, ...]]:
        """What is done from one grip to another between two steps."""
        step = _panel(after)
        ways = [turns for turns, held in self._held_on(one, step, may_turn) if held == other]
        if ways:
            turns = min(ways, key=lambda way: sum(turn.seconds_s for turn in way))
            in_hand = any(turn.by == "gripper" for turn in turns)
            return ("in-hand" if in_hand else "by-arm" if turns else "keep"), turns
        both = [(number, self._over_turns(number, step, has_room=bool(may_turn[number]))) for number in (one, other)]
        lies = self._lie_for(step.after), self._lie_for(step.before)
        able = [
            turns for (_, turns), may in zip(both, lies, strict=True) if turns is not None and may[one] and may[other]
        ]
        return "station", min(able, key=lambda turns: sum(turn.seconds_s for turn in turns))

    def _lie_for(self, axes: Sequence[Axes]) -> Bools:
        """Which grips put the part on a station or take it from there: not from below where it is a table."""
        if self.row.from_below_at_station:
            return np.ones(len(self.grips), dtype=bool)
        return are_from_above(self.grips, axes)

    def _held_on(self, one: int, step: PanelStepHolds, may_turn: Bools) -> Iterator[tuple[tuple[Turn, ...], int]]:
        """Ways to make all moves before a step with a grip held, each with the grip in which it ends."""
        for changes, turns in self._ways(one, step):
            held, has_room = one, True
            for turn, change in zip(turns, changes, strict=True):
                has_room &= turn.by == "arm" or (held >= 0 and bool(may_turn[held]))
                held = held if change is None or held < 0 else int(self._changed(change)[held])
            if has_room and held >= 0:
                yield turns, held

    def _ways(self, one: int, step: PanelStepHolds) -> Iterator[tuple[tuple[BodyTurned | None, ...], tuple[Turn, ...]]]:
        """Ways to make all moves before a step with a grip held: how the body is turned about it, and the turns."""
        ways: list[tuple[tuple[BodyTurned | None, ...], tuple[Turn, ...], PanelGrip, Axes]]
        ways = [((), (), self.grips[one], step.before[one])]
        for turned in step.turned:
            ways = [
                ((*changes, change), (*turns, turn), _after(grip, change), _rotation(turned) @ own)
                for changes, turns, grip, axes in ways
                for turn, change, own in self._turned_once(grip, axes, turned, has_room=True)
            ]
        for changes, turns, _, _ in ways:
            yield changes, turns

    def _turned_once(
        self, grip: PanelGrip, axes: Axes, turned: TurnedPart, *, has_room: bool
    ) -> Iterator[tuple[Turn, BodyTurned | None, Axes]]:
        """One move made with a grip: by the arm, which keeps it; by the gripper, which is turned about the part."""
        found = about_of(axes, turned.about)
        if found is None:
            return
        about, sign = found
        own: set[ArmTurn] = {"normal", "approach"} if grip.kind == "face" and about == "normal" else {about}
        if grip.kind == "face" and about == "approach":
            own = {"across"}
        if own & set(self.row.arm_turns):
            yield Turn(turned.axis, "arm", self._arm_s(turned, self._handler)), None, axes
        if not has_room or "across" in own:
            return
        for each in sorted(own):
            seconds = self._by_gripper_s(each, turned.angle_deg)  # type: ignore[arg-type]
            change = _turned_in_hand(grip, about, -sign * turned.angle_deg)
            if seconds is not None and change is not None:
                # The gripper stands as it stood: turned back by as much as the part goes on.
                stays = _rotation(turned).T @ axes
                yield Turn(turned.axis, "gripper", seconds), change, stays
                return

    def _arm_s(self, turned: TurnedPart, handler: Handler) -> float:
        names = {"plane": "turn", "bed": "turn-over-bed", "front": "turn-over-front", "tilt": "tilt"}
        return handler.seconds_of(names[turned.axis])  # type: ignore[arg-type]

    def _by_gripper_s(self, about: TurnAxis, angle_deg: float) -> float | None:
        return turning_s(self.row, about, angle_deg)

    def _number(self, grip: PanelGrip) -> int | None:
        found = self._places.get(_key(grip))
        if found is None and grip.kind != "face" and self._shape.sides_alike("edge"):
            found = self._places.get(_key(grip.other_side()))
        if found is None and grip.kind == "face" and self._shape.along_alike:
            found = self._places.get(_key(grip.turned(180.0)))
        return found

    def _over_turns(self, number: int, step: PanelStepHolds, *, has_room: bool) -> tuple[Turn, ...] | None:
        """The turns over and tilts before a step made with a grip; in the plane it is taken up from another side.

        They are asked as the grip would hold the part before them; a grip that takes it up after them turns it back the
        same way.
        """
        axes, turns = step.before[number], list[Turn]()
        for turned in step.turned:
            if turned.axis != "plane":
                ways = [turn for turn, _, _ in self._turned_once(self.grips[number], axes, turned, has_room=has_room)]
                if not ways:
                    return None
                turns.append(min(ways, key=lambda turn: turn.seconds_s))
            axes = _rotation(turned) @ axes
        return tuple(turns)


def are_from_above(grips: Sequence[PanelGrip], axes: Sequence[Axes]) -> Bools:
    """Which grips do not hold a face from below, their axes lying so in the machine."""
    pairs = zip(grips, axes, strict=True)
    return np.array([grip.kind != "face" or own[2, 2] >= LEANS_BACK for grip, own in pairs], dtype=bool)


def _turned_in_hand(grip: PanelGrip, about: ArmTurn, angle_deg: float) -> BodyTurned | None:
    """How a body is turned about a part: on a face to any of its sides, at an edge over.

    A body over an edge turned about the sheet's normal would lie where the sheet is.
    """
    if grip.kind == "face" and about == "normal":
        # About the normal that looks away from the marked face it is the other way round.
        return BodyTurned(angle_deg if grip.marked else -angle_deg)
    if grip.kind != "face" and about == "approach" and abs(abs(angle_deg) - 180.0) < 1.0:
        return BodyTurned(None)
    return None


def _after(grip: PanelGrip, change: BodyTurned | None) -> PanelGrip:
    if change is None:
        return grip
    return grip.other_side() if change.normal_deg is None else grip.turned(change.normal_deg)


def turning_s(row: Gripper, about: TurnAxis, angle_deg: float) -> float | None:
    """Seconds of a turn that a gripper makes by itself, reckoned as half a turn; None where it does not index it."""
    found = [
        each.half_turn_s
        for each in row.turning
        if each.about == about
        and abs(angle_deg / each.step_deg - round(angle_deg / each.step_deg)) < 0.05 / each.step_deg
    ]
    return min(found, default=None)


def _panel(step: StepHolds) -> PanelStepHolds:
    assert isinstance(step, PanelStepHolds)
    return step


def _key(grip: PanelGrip) -> tuple[object, ...]:
    x, y = grip.arm
    return grip.kind, grip.face, grip.at_mm, round(x, KEY_DIGITS) + 0.0, round(y, KEY_DIGITS) + 0.0, grip.marked
