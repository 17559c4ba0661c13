"""A panel's plan held by a gripper from the first hit to the last: the least way, asked of the plan that is found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from flangewise.geometry import Vector
from flangewise.handling.follow import Rise
from flangewise.handling.gripper import GripperShape
from flangewise.handling.held import PointHeld
from flangewise.handling.moves import Pose
from flangewise.handling.panel_bodies import machine_frame
from flangewise.handling.panel_grip import PanelBody, PanelGrip
from flangewise.handling.panel_hits import HeldPanel, PanelHits, RiseOf
from flangewise.handling.panel_moves import PanelMoves, PanelStepHolds, are_from_above, attitude_at, axes_of, turned_by
from flangewise.handling.panel_rules import AtHit
from flangewise.handling.step_grips import StepGrips
from flangewise.handling.strength import Strength
from flangewise.handling.way import NO_GRIP_S, HeldStep, HeldWay, least_way
from flangewise.shop import Handler


class PanelGripPlanner:
    """One plan of a panel held by one gripper; what is found of a step is kept."""

    def __init__(self, part: HeldPanel, handler: Handler, steps: Sequence[AtHit], rise_of: RiseOf) -> None:
        """`handler` as the shop has it, with a gripper; `steps`: the first hits of the plan, in order."""
        self.hits = PanelHits(part, handler, rise_of)
        self.part, self.handler, self.steps = part, handler, tuple(steps)
        self.shape, self.grips = self.hits.shape, self.hits.grips

    def strengths(self, done: frozenset[int]) -> tuple[Strength, ...]:
        """What every grip is asked with some bends bent."""
        return self.hits.strengths(done)

    # ---- the way

    @cached_property
    def grips_at(self) -> tuple[StepGrips, ...]:
        """Which grips hold at each step."""
        return tuple(map(self.hits.grips_at, self.steps))

    def held_anew(self, number: int, shape: GripperShape) -> bool:
        """Whether another gripper holds at a step, the first with a grip that a blank is picked with."""
        at, blank = self.steps[number], self.part.shapes.blank
        other = PanelHits(self.part, self.handler.model_copy(update={"gripper": shape.row}), self.hits.rise_of)
        holds = other.grips_at(at).through
        if not number:
            axes = axes_of(blank, other.grips, attitude_at(blank, at.step, at.done), at.done)
            holds = holds & are_from_above(other.grips, axes)
        return bool(holds.any())

    @cached_property
    def way(self) -> HeldWay:
        """The least way to hold the plan, over the grips that are of use at any of its steps, or turned in hand from
        one that is."""
        used = np.zeros(len(self.grips), dtype=bool)
        for each in self.grips_at:
            used |= each.load | each.out
        of_use = {
            (grip.kind, grip.face, grip.at_mm) for grip, own in zip(self.grips, used.tolist(), strict=True) if own
        }
        places = np.flatnonzero([(grip.kind, grip.face, grip.at_mm) in of_use for grip in self.grips])
        grips = [self.grips[place] for place in places.tolist()]
        moves = PanelMoves(self.handler, self.shape, grips)
        steps = list(self._holds(places, grips))
        # Where nothing is turned no room is asked for.
        none = np.zeros(len(grips), dtype=bool)
        rooms = [self.hits.room(places.tolist(), at.done) if at.step.moves else none for at in self.steps]
        found = least_way(steps, moves, rooms)
        return replace(found, steps=tuple(_renumbered(step, places.tolist()) for step in found.steps))

    @property
    def more_s(self) -> float:
        """Seconds that holding the plan takes beyond what its order reckons, the handler's allowance included."""
        return (1 + self.handler.allowance_share) * (self.way.more_s - NO_GRIP_S * self.way.by_hand)

    def _holds(self, places: np.ndarray, grips: Sequence[PanelGrip]) -> Iterator[PanelStepHolds]:
        blank, last = self.part.shapes.blank, None
        for number, at in enumerate(self.steps):
            grips_at = self.grips_at[number]
            kept = _only(grips_at, places)
            more_s, floating = self.hits.goes_with(at, grips_at.through)
            after = axes_of(blank, grips, attitude_at(blank, at.step, at.done), at.done)
            before = after if last is None else axes_of(blank, grips, attitude_at(blank, last, at.done), at.done)
            yield PanelStepHolds(
                pose=Pose(at.step.marked_up, at.step.parent_behind),
                grips=kept,
                followed_s=more_s[places],
                floats=floating[places],
                turned=tuple(map(turned_by, at.step.moves)),
                before=before,
                after=after,
            )
            last = at.step

    def point(self, number: int, place: int) -> PointHeld:
        """How a grip's point goes in a step."""
        return self.hits.point(self.steps[number], place)

    def rise(self, number: int) -> Rise:
        """How the sheet rises in the stroke of a step."""
        return self.hits.rise(self.steps[number])

    def lies(self, number: int, place: int) -> tuple[Vector, Vector]:
        """Where a grip's middle lies before a step and the way to where its arm comes from: x to the right along the
        bed from the left end of the bend line, y to the back, z up; off a face, the way away from it."""
        at, grip = self.steps[number], self.grips[place]
        wing, front = self.hits.wing(at, place)
        lying = machine_frame(at.hit, front=front, share=0.0).after(
            wing.frame(grip.face, wing.branches[grip.face].state(at.done))
        )
        stand = lying.after(grip.stands_on(self.part.shapes.blank.thickness_mm))
        axis = 2 if grip.kind == "face" else 0
        right, back, up = (row[axis] for row in stand.rotation)
        return stand.origin_mm, (right, back, up)

    # ---- what reaches

    def reach_mm(self, place: int, done: frozenset[int]) -> tuple[float, float | None]:
        """How far the part reaches from the pads' middle with some bends bent, and both from the arm's flange."""
        grip, t, body = self.grips[place], self.part.shapes.blank.thickness_mm, PanelBody(self.shape)
        back = self.part.fold(done).frames[grip.face].after(grip.stands_on(t)).inverse()
        corners = back.place(np.concatenate(self.part.corners_mm(done)))
        part_mm = float(np.linalg.norm(corners, axis=1).max())
        flange_mm = self.shape.row.flange_mm
        if flange_mm is None:
            return part_mm, None
        flange = np.array([0.0, 0.0, flange_mm] if grip.kind == "face" else [flange_mm, 0.0, 0.0])
        own = np.concatenate([corners, *(solid.corners_mm for solid in body.pieces())])
        return part_mm, float(np.linalg.norm(own - flange, axis=1).max())


def _only(grips: StepGrips, places: np.ndarray) -> StepGrips:
    """Of all grips those at some places."""
    return StepGrips(
        grips.load[places],
        grips.through[places],
        grips.out[places],
        grips.drawn_away[places],
        grips.drawn_near[places],
        grips.single,
        tuple(grips.against[place] for place in places.tolist()),
        tuple(grips.frames[place] for place in places.tolist()),
    )


def _renumbered(step: HeldStep, places: Sequence[int]) -> HeldStep:
    if step.grip is None or step.grip_out is None:
        return step
    return replace(step, grip=places[step.grip], grip_out=places[step.grip_out])
