"""A panel's plan held by a gripper from the first hit to the last: the least way, asked of the plan that is found."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import shapely

from flangewise.geometry import Fold, SpacePoints, Vector
from flangewise.handling.follow import Rise, floats, followed_s
from flangewise.handling.gripper import GripperShape
from flangewise.handling.held import PointHeld
from flangewise.handling.holding_force import HeldMass
from flangewise.handling.moves import Pose
from flangewise.handling.panel_bodies import machine_frame
from flangewise.handling.panel_grip import PanelBody, PanelGrip, fold_of, panel_grips
from flangewise.handling.panel_moves import Bools, PanelMoves, PanelStepHolds, attitude, axes_of, turned_by
from flangewise.handling.panel_rules import AtHit, PanelInHand
from flangewise.handling.panel_step_grips import panel_grips_at
from flangewise.handling.step_grips import StepGrips
from flangewise.handling.strength import Strength, strength_of
from flangewise.handling.way import NO_GRIP_S, HeldStep, HeldWay, least_way
from flangewise.panel_order import PanelShapes, PanelStep, SpaceHit, Wing, bend_mass, face_mass
from flangewise.shop import Handler

# How the sheet rises in the stroke of a step.
RiseOf = Callable[[PanelStep, SpaceHit], Rise]


class HeldPanel:
    """A panel as it is held: its blank as a tree of faces, and its mass; what is found of a state is kept."""

    def __init__(self, shapes: PanelShapes, mass_kg: float) -> None:
        """Nothing is folded yet."""
        self.shapes, self.mass_kg = shapes, mass_kg
        self._folds: dict[frozenset[int], Fold] = {}
        self._corners: dict[frozenset[int], list[SpacePoints]] = {}

    def fold(self, done: frozenset[int]) -> Fold:
        """It with some bends bent, the base lying as on the blank."""
        if done not in self._folds:
            self._folds[done] = fold_of(self.shapes.blank, done)
        return self._folds[done]

    def centre_mm(self, done: frozenset[int]) -> SpacePoints:
        """Its mass centre then: faces at their centroids, bends at the middles of their arcs."""
        shapes, fold = self.shapes, self.fold(done)
        areas, places = [], []
        for face in shapes.blank.faces:
            area, (x, y) = face_mass(shapes, face.number)
            areas.append(area)
            places.append(fold.frames[face.number].place([(x, y, 0.0)])[0])
        for hung, zone in shapes.zones.items():
            area, middle = bend_mass(shapes, hung, bent=zone.bend in done)
            areas.append(area)
            places.append(fold.frames[zone.face_from].place([middle])[0])
        centre: SpacePoints = np.average(np.array(places), axis=0, weights=areas)
        return centre

    def corners_mm(self, done: frozenset[int]) -> list[SpacePoints]:
        """The corners of every convex piece of it then."""
        if done not in self._corners:
            shapes, fold, half = self.shapes, self.fold(done), self.shapes.blank.thickness_mm / 2
            found = [
                solid.corners_mm
                for face in shapes.blank.faces
                for solid in shapes.plates(face.number, half).placed(fold.frames[face.number])
            ]
            for hung, zone in shapes.zones.items():
                pieces = shapes.bend(hung, half, bent=zone.bend in done).placed(fold.frames[zone.face_from])
                found += [solid.corners_mm for solid in pieces]
            self._corners[done] = found
        return self._corners[done]


class PanelGripPlanner:
    """One plan of a panel held by one gripper; what is found of a step is kept."""

    def __init__(
        self,
        part: HeldPanel,
        handler: Handler,
        steps: Sequence[AtHit],
        rise_of: RiseOf,
    ) -> None:
        """`handler` as the shop has it, with a gripper; `steps`: the first hits of the plan, in order."""
        assert handler.gripper is not None
        self.part, self.handler, self.steps, self._rise_of = part, handler, tuple(steps), rise_of
        self.shape = GripperShape(handler.gripper)
        self.grips = panel_grips(part.shapes, self.shape)
        self._asked = PanelInHand(part.shapes, self.shape, self.grips)
        self._strengths: dict[frozenset[int], tuple[Strength, ...]] = {}
        self._rises: dict[int, Rise] = {}

    def done_after(self, number: int) -> frozenset[int]:
        """The bends that are bent when a step is made."""
        return self.steps[number].done | frozenset(self.steps[number].step.operation.bends)

    # ---- forces

    def strengths(self, done: frozenset[int]) -> tuple[Strength, ...]:
        """What every grip is asked with some bends bent."""
        if done not in self._strengths:
            blank, centre = self.part.shapes.blank, self.part.centre_mm(done)
            fold = self.part.fold(done)
            found = []
            for grip in self.grips:
                stand = fold.frames[grip.face].after(grip.stands_on(blank.thickness_mm))
                along, beside, off = (float(mm) for mm in stand.inverse().place(centre)[0])
                held = HeldMass(self.part.mass_kg, along, beside, off)
                found.append(strength_of(self.shape, grip.kind, held, length_mm=grip.wide_mm))
            self._strengths[done] = tuple(found)
        return self._strengths[done]

    def _strong(self, number: int) -> tuple[Bools, Bools]:
        both = [self.strengths(done) for done in (self.steps[number].done, self.done_after(number))]
        holds = np.array([[each.holds is not False for each in all_of] for all_of in both], dtype=bool)
        carries = np.array([[each.carries is not False for each in all_of] for all_of in both], dtype=bool)
        return np.asarray(holds.all(axis=0)), np.asarray(carries.all(axis=0))

    # ---- the way

    @cached_property
    def grips_at(self) -> tuple[StepGrips, ...]:
        """Which grips hold at each step."""
        return tuple(panel_grips_at(self._asked, at, self._strong(number)) for number, at in enumerate(self.steps))

    def held_anew(self, number: int, shape: GripperShape) -> bool:
        """Whether another gripper holds at a step."""
        handler = self.handler.model_copy(update={"gripper": shape.row})
        other = PanelGripPlanner(self.part, handler, self.steps, self._rise_of)
        return bool(panel_grips_at(other._asked, self.steps[number], other._strong(number)).through.any())

    @cached_property
    def way(self) -> HeldWay:
        """The least way to hold the plan, over the grips that are of use at any of its steps."""
        used = np.zeros(len(self.grips), dtype=bool)
        for each in self.grips_at:
            used |= each.load | each.out
        places = np.flatnonzero(used)
        grips = [self.grips[place] for place in places.tolist()]
        moves = PanelMoves(self.handler, self.shape, grips)
        steps = list(self._holds(places, grips))
        # Where nothing is turned no room is asked for.
        rooms = [self._room(grips, at.done) if at.step.moves else np.zeros(len(grips), dtype=bool) for at in self.steps]
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
            points = [self.point(number, place) if grips_at.through[place] else None for place in places.tolist()]
            after = axes_of(blank, grips, attitude(blank, at.step, at.done), at.done)
            before = after if last is None else axes_of(blank, grips, attitude(blank, last, at.done), at.done)
            yield PanelStepHolds(
                pose=Pose(at.step.marked_up, at.step.parent_behind),
                grips=kept,
                followed_s=np.array([math.inf if each is None else each.followed_s for each in points]),
                floats=np.array(
                    [each is not None and floats(self.shape, each.travels_mm) for each in points], dtype=bool
                ),
                turned=tuple(map(turned_by, at.step.moves)),
                before=before,
                after=after,
            )
            last = at.step

    def _wing(self, number: int, place: int) -> tuple[Wing, bool]:
        hit, face = self.steps[number].hit, self.grips[place].face
        front = face in hit.front.branches
        return (hit.front if front else hit.behind), front

    def point(self, number: int, place: int) -> PointHeld:
        """How a grip's point goes in a step."""
        at, grip = self.steps[number], self.grips[place]
        hit = at.hit
        if hit.tools.kind != "swing":
            return PointHeld((0.0, 0.0), 1.0, 0.0, 0.0, 0.0, 0.0)
        wing, _ = self._wing(number, place)
        stand = wing.frame(grip.face, wing.branches[grip.face].state(at.done)).after(
            grip.stands_on(self.part.shapes.blank.thickness_mm)
        )
        _, out, up = stand.origin_mm
        point_mm = (float(out), float(up))
        rise = self.rise(number)
        factor, travels_mm = rise.speed_factor(point_mm), rise.travels_mm(point_mm)
        ram = 0.0
        if hit.tools.time is not None:
            ram = float(hit.tools.time.ram_speeds_mm_per_s(np.array([hit.reach_mm(at.done)]))[0])
        if ram <= 0:
            return PointHeld(point_mm, factor, travels_mm, ram, 0.0, ram)
        more_s, slow = followed_s(factor, hit.tools, ram_mm_per_s=ram, follow_mm_per_s=self.shape.row.follow_mm_per_s)
        return PointHeld(point_mm, factor, travels_mm, ram, more_s, slow)

    def rise(self, number: int) -> Rise:
        """How the sheet rises in the stroke of a step."""
        if number not in self._rises:
            self._rises[number] = self._rise_of(self.steps[number].step, self.steps[number].hit)
        return self._rises[number]

    def lies(self, number: int, place: int) -> tuple[Vector, Vector]:
        """Where a grip's middle lies before a step and the way to where its arm comes from: x to the right along the
        bed from the left end of the bend line, y to the back, z up; off a face, the way away from it."""
        at, grip = self.steps[number], self.grips[place]
        wing, front = self._wing(number, place)
        lying = machine_frame(at.hit, front=front, share=0.0).after(
            wing.frame(grip.face, wing.branches[grip.face].state(at.done))
        )
        stand = lying.after(grip.stands_on(self.part.shapes.blank.thickness_mm))
        axis = 2 if grip.kind == "face" else 0
        right, back, up = (row[axis] for row in stand.rotation)
        return stand.origin_mm, (right, back, up)

    # ---- what turns, what reaches

    def _room(self, grips: Sequence[PanelGrip], done: frozenset[int]) -> Bools:
        """Which grips have room to turn the part in hand with some bends bent."""
        if not self.shape.row.turning:
            return np.zeros(len(grips), dtype=bool)
        return np.array([self._turns(grip, done) for grip in grips], dtype=bool)

    def _turns(self, grip: PanelGrip, done: frozenset[int]) -> bool:
        """Whether the part turns in a grip without touching the body or leaving the room there is around its axis.

        The body is taken for what it sweeps itself, a cylinder about the axis: no piece of the part may come into that.
        """
        row, body, t = self.shape.row, PanelBody(self.shape), self.part.shapes.blank.thickness_mm
        fold = self.part.fold(done)
        back = fold.frames[grip.face].after(grip.stands_on(t)).inverse()
        axis, across = (2, [0, 1]) if grip.kind == "face" else (0, [1, 2])
        outline, half_mm, keep = self.shape.outline_mm, body.wide_mm / 2, row.clear_mm
        radius_mm = math.hypot(float(np.abs(outline[:, 0 if grip.kind == "face" else 1]).max()), half_mm) + keep
        low, high = (SAME_HEIGHT_MM, float(outline[:, 1].max()) + keep)
        if grip.kind != "face":
            low, high = row.pad_across_mm / 2 + SAME_HEIGHT_MM, float(outline[:, 0].max()) + keep
        rooms = [each.room_mm for each in row.turning if each.room_mm is not None]
        whole = [back.place(corners) for corners in self.part.corners_mm(done)]
        if rooms and max(float(np.hypot(*each[:, across].T).max()) for each in whole) > min(rooms):
            return False
        for own in whole:
            if own[:, axis].max() > low and own[:, axis].min() < high:
                outline_of = shapely.convex_hull(shapely.MultiPoint(own[:, across]))
                if shapely.distance(outline_of, shapely.Point(0.0, 0.0)) < radius_mm:
                    return False
        return True

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


# What stands over a held face by less lies in it.
SAME_HEIGHT_MM = 0.01


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
