"""A panel in a gripper, hit by hit: which grips hold, what each is asked, where its point goes, whether it may turn.

Of no plan: what is found of a hit is kept by whoever asks for many of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely

from flangewise.geometry import Fold, SpacePoints
from flangewise.handling.follow import Rise, floats, followed_s
from flangewise.handling.gripper import GripperShape
from flangewise.handling.held import PointHeld
from flangewise.handling.holding_force import HeldMass
from flangewise.handling.moves import Floats
from flangewise.handling.panel_grip import PanelBody, PanelGrip, fold_of, panel_grips
from flangewise.handling.panel_moves import Bools
from flangewise.handling.panel_rules import AtHit, PanelInHand
from flangewise.handling.panel_step_grips import panel_grips_at
from flangewise.handling.step_grips import StepGrips
from flangewise.handling.strength import Strength, strength_of
from flangewise.panel_order import PanelShapes, PanelStep, SpaceHit, Wing, bend_mass, face_mass
from flangewise.shop import Handler

# How the sheet rises in the stroke of a step.
RiseOf = Callable[[PanelStep, SpaceHit], Rise]
# What stands over a held face by less lies in it.
SAME_HEIGHT_MM = 0.01


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


class PanelHits:
    """A panel in one gripper, asked hit by hit."""

    def __init__(self, part: HeldPanel, handler: Handler, rise_of: RiseOf) -> None:
        """`handler` as the shop has it, with a gripper."""
        assert handler.gripper is not None
        self.part, self.handler, self.rise_of = part, handler, rise_of
        self.shape = GripperShape(handler.gripper)
        self.grips = panel_grips(part.shapes, self.shape)
        self.asked = PanelInHand(part.shapes, self.shape, self.grips)
        self._strengths: dict[frozenset[int], tuple[Strength, ...]] = {}
        self._strong: dict[frozenset[int], tuple[Bools, Bools]] = {}
        self._rises: dict[SpaceHit, Rise] = {}

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

    def strong(self, at: AtHit) -> tuple[Bools, Bools]:
        """Which grips the gripper holds before a hit and after it, and which the arm carries."""
        both = [self._strong_with(done) for done in (at.done, at.done_after)]
        return both[0][0] & both[1][0], both[0][1] & both[1][1]

    def _strong_with(self, done: frozenset[int]) -> tuple[Bools, Bools]:
        if done not in self._strong:
            all_of = self.strengths(done)
            holds = np.array([each.holds is not False for each in all_of], dtype=bool)
            self._strong[done] = holds, np.array([each.carries is not False for each in all_of], dtype=bool)
        return self._strong[done]

    def grips_at(self, at: AtHit) -> StepGrips:
        """Which grips hold at a hit."""
        return panel_grips_at(self.asked, at, self.strong(at))

    def goes_with(self, at: AtHit, through: Bools) -> tuple[Floats, Bools]:
        """Of grips that hold through a stroke, what following it takes more, and which the sheet carries along."""
        points = [self.point(at, place) if holds else None for place, holds in enumerate(through.tolist())]
        more_s = np.array([math.inf if each is None else each.followed_s for each in points])
        floating = [each is not None and floats(self.shape, each.travels_mm) for each in points]
        return more_s, np.array(floating, dtype=bool)

    def wing(self, at: AtHit, place: int) -> tuple[Wing, bool]:
        """The wing of a hit that a grip holds, and whether it is the one in front."""
        front = self.grips[place].face in at.hit.front.branches
        return (at.hit.front if front else at.hit.behind), front

    def point(self, at: AtHit, place: int) -> PointHeld:
        """How a grip's point goes in a hit."""
        hit, grip = at.hit, self.grips[place]
        if hit.tools.kind != "swing":
            return PointHeld((0.0, 0.0), 1.0, 0.0, 0.0, 0.0, 0.0)
        wing, _ = self.wing(at, place)
        stand = wing.frame(grip.face, wing.branches[grip.face].state(at.done)).after(
            grip.stands_on(self.part.shapes.blank.thickness_mm)
        )
        _, out, up = stand.origin_mm
        point_mm = (float(out), float(up))
        rise = self.rise(at)
        factor, travels_mm = rise.speed_factor(point_mm), rise.travels_mm(point_mm)
        ram = 0.0
        if hit.tools.time is not None:
            ram = float(hit.tools.time.ram_speeds_mm_per_s(np.array([hit.reach_mm(at.done)]))[0])
        if ram <= 0:
            return PointHeld(point_mm, factor, travels_mm, ram, 0.0, ram)
        more_s, slow = followed_s(factor, hit.tools, ram_mm_per_s=ram, follow_mm_per_s=self.shape.row.follow_mm_per_s)
        return PointHeld(point_mm, factor, travels_mm, ram, more_s, slow)

    def rise(self, at: AtHit) -> Rise:
        """How the sheet rises in the stroke of a hit."""
        if at.hit not in self._rises:
            self._rises[at.hit] = self.rise_of(at.step, at.hit)
        return self._rises[at.hit]

    def room(self, places: list[int], done: frozenset[int]) -> Bools:
        """Which of some grips have room to turn the part in hand with some bends bent."""
        if not self.shape.row.turning:
            return np.zeros(len(places), dtype=bool)
        return np.array([self._turns(self.grips[place], done) for place in places], dtype=bool)

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
