"""What moves a panel held by a gripper from one step to the next: turned as its order says, by arm, gripper or station.

Each of the order's moves is a turn about an axis of the machine. Which of the gripper's own axes that is follows from
how the held face stands then: about its normal, along its approach, across it, or about none of them, which neither arm
nor gripper makes. A turn by the gripper itself is reckoned as half a turn whatever its angle, as the order does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Rotation, Vector, as_frame
from flangewise.handling.gripper import GripperShape
from flangewise.handling.moves import Between, Floats, MachineAxis, Moves, StepHolds, Turn
from flangewise.handling.panel_grip import PanelGrip, fold_of
from flangewise.handling.step_grips import LEANS_BACK
from flangewise.panel_order import PanelMove, PanelStep, lie_of, stood
from flangewise.pattern import PanelBlank, base_turned
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


def attitude(blank: PanelBlank, step: PanelStep, done: frozenset[int]) -> Rotation:
    """How the base stands in the machine (right, back, up) where a part lies as for a step, whatever is bent."""
    operation = step.operation
    lie = lie_of(operation.zones[0].line_mm, marked_up=step.marked_up, parent_behind=step.parent_behind)
    turned = stood(lie) @ np.array(base_turned(blank, operation.parents[0], done=done))
    return as_frame(turned, np.zeros(3)).rotation


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
        self._places = {_key(grip): number for number, grip in enumerate(self.grips)}

    def picked_at(self, step: StepHolds) -> Bools:
        """Grips with which a blank comes from the stack: on a face from above alone."""
        return self._lie_for(_panel(step).before)

    def between(self, before: StepHolds, after: StepHolds, may_turn: Bools) -> Floats:
        """Seconds more [grip with which a step is left, grip with which the next is come to]."""
        step, count = _panel(after), len(self.grips)
        more = np.full((count, count), np.inf)
        base_s = sum(self._arm_s(turned, self._best) for turned in step.turned)
        for one in range(count):
            for turns, other in self._held_on(one, step, may_turn):
                more[one, other] = min(more[one, other], max(sum(turn.seconds_s for turn in turns) - base_s, 0.0))
        if self.row.regrip_station:
            first, then = self._turned_at_station(step, may_turn)
            table = self._handler.regrip_s + np.maximum(np.minimum(first, then) - base_s, 0.0)
            np.fill_diagonal(table, np.inf)
            more = np.minimum(more, table)
        return more

    def _turned_at_station(self, step: PanelStepHolds, may_turn: Bools) -> tuple[Floats, Floats]:
        """Seconds of turning over and tilting where the part is put down [from which grip, into which]: by the one that
        lets go, which then puts it down as it is to lie, or by the one that takes it as it lay."""
        over, before, after = self._least_over(step, may_turn), self._lie_for(step.before), self._lie_for(step.after)
        first = np.where(np.outer(after, after), over[:, None], np.inf)
        return first, np.where(np.outer(before, before), over[None, :], np.inf)

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
        first, then = self._turned_at_station(step, may_turn)
        by = one if first[one, other] <= then[one, other] else other
        return "station", self._over_turns(by, step, may_turn) or ()

    def _lie_for(self, axes: Sequence[Axes]) -> Bools:
        """Which grips put the part on a station or take it from there: not from below where it is a table."""
        return np.array(
            [
                grip.kind != "face" or own[2, 2] >= LEANS_BACK or self.row.from_below_at_station
                for grip, own in zip(self.grips, axes, strict=True)
            ],
            dtype=bool,
        )

    def _held_on(self, one: int, step: PanelStepHolds, may_turn: Bools) -> Iterator[tuple[tuple[Turn, ...], int]]:
        """Ways to make all moves before a step with a grip held, each with the grip in which it ends."""
        ways: list[tuple[tuple[Turn, ...], int, Axes]] = [((), one, step.before[one])]
        for turned in step.turned:
            ways = [
                ((*turns, turn), held, _rotation(turned) @ own)
                for turns, number, axes in ways
                for turn, held, own in self._turned_once(number, axes, turned, may_turn)
            ]
        for turns, held, _ in ways:
            yield turns, held

    def _turned_once(
        self, number: int, axes: Axes, turned: TurnedPart, may_turn: Bools
    ) -> Iterator[tuple[Turn, int, Axes]]:
        """One move made with a grip: by the arm, which keeps it; by the gripper, which is turned about the part."""
        grip, found = self.grips[number], about_of(axes, turned.about)
        if found is None:
            return
        about, sign = found
        own: set[ArmTurn] = {"normal", "approach"} if grip.kind == "face" and about == "normal" else {about}
        if grip.kind == "face" and about == "approach":
            own = {"across"}
        if own & set(self.row.arm_turns):
            yield Turn(turned.axis, "arm", self._arm_s(turned, self._handler)), number, axes
        if not may_turn[number] or "across" in own:
            return
        for each in sorted(own):
            seconds = self._by_gripper_s(each, turned.angle_deg)  # type: ignore[arg-type]
            held = self._turned_in_hand(grip, about, -sign * turned.angle_deg)
            if seconds is not None and held is not None:
                # The gripper stands as it stood: turned back by as much as the part goes on.
                stays = _rotation(turned).T @ axes
                yield Turn(turned.axis, "gripper", seconds), held, stays
                return

    def _arm_s(self, turned: TurnedPart, handler: Handler) -> float:
        names = {"plane": "turn", "bed": "turn-over-bed", "front": "turn-over-front", "tilt": "tilt"}
        return handler.seconds_of(names[turned.axis])  # type: ignore[arg-type]

    def _by_gripper_s(self, about: TurnAxis, angle_deg: float) -> float | None:
        return turning_s(self.row, about, angle_deg)

    def _turned_in_hand(self, grip: PanelGrip, about: ArmTurn, angle_deg: float) -> int | None:
        """The grip in which a part is once the body is turned about it: on a face to any of its sides, at an edge over.

        A body over an edge turned about the sheet's normal would lie where the sheet is.
        """
        if grip.kind == "face" and about == "normal":
            # About the normal that looks away from the marked face it is the other way round.
            return self._number(grip.turned(angle_deg if grip.marked else -angle_deg))
        if grip.kind != "face" and about == "approach" and abs(abs(angle_deg) - 180.0) < 1.0:
            return self._number(grip.other_side())
        return None

    def _number(self, grip: PanelGrip) -> int | None:
        found = self._places.get(_key(grip))
        if found is None and grip.kind != "face" and self._shape.sides_alike("edge"):
            found = self._places.get(_key(grip.other_side()))
        if found is None and grip.kind == "face" and self._shape.along_alike:
            found = self._places.get(_key(grip.turned(180.0)))
        return found

    def _over_turns(self, number: int, step: PanelStepHolds, may_turn: Bools) -> tuple[Turn, ...] | None:
        """The turns over and tilts before a step made with a grip; in the plane it is taken up from another side.

        They are asked as the grip would hold the part before them; a grip that takes it up after them turns it back the
        same way.
        """
        axes, turns = step.before[number], list[Turn]()
        for turned in step.turned:
            if turned.axis != "plane":
                ways = list(self._turned_once(number, axes, turned, may_turn))
                if not ways:
                    return None
                turns.append(min((turn for turn, _, _ in ways), key=lambda turn: turn.seconds_s))
            axes = _rotation(turned) @ axes
        return tuple(turns)

    def _least_over(self, step: PanelStepHolds, may_turn: Bools) -> Floats:
        """Seconds in which each grip turns the part over and tilts it; infinite where it does not."""
        found = [self._over_turns(number, step, may_turn) for number in range(len(self.grips))]
        return np.array(
            [math.inf if turns is None else sum(turn.seconds_s for turn in turns) for turns in found], dtype=float
        )


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
