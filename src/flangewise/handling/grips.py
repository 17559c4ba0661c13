"""Where a section may be held at a step: each grip tried with the gripper's own body through load, stroke and way out.

Held on a wing the gripper is a part of it: what the tools sweep as that wing sees them must not touch its body. What
rises on the other side of the bend is carried past it moment by moment. Rules about bend zones, holes and edges are
common practice; their distances stand in the gripper's row.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance import Body, Region, Stroke, swept_region
from flangewise.geometry import Path, Points, done_angles, section_path
from flangewise.handling.gripper import Frame, Grip, GripperShape, HeldPart, frame_of, grips_of, mass_centre_mm
from flangewise.handling.holding_force import ArmLoad, HeldMass, NeededForce, arm_load, needed_force
from flangewise.sequence import Candidate, SectionProblem, done_zones, part_path, stroke_of, wing_paths

Bools = NDArray[np.bool_]
Geometries = NDArray[np.object_]

Against = Literal[
    "gauge-side", "bend-zone", "arm-behind", "not-this-side", "tools", "part", "stops", "force", "payload", "draw-back"
]
# The order in which a grip is told to fail, the nearest to one that holds last.
AGAINST: tuple[Against, ...] = (
    *("gauge-side", "arm-behind", "not-this-side", "bend-zone", "payload", "force", "part", "tools", "stops"),
    "draw-back",
)

# What of the part moves past a body in hand keeps this far from it (judgement).
PART_CLEAR_MM = 1.0
MOMENTS = 24
# A face that leans back by no more counts as one from above: an arm that comes from the front reaches it.
LEANS_BACK = -0.26
SAME_MM = 1e-6
FAR_MM = 2000.0
REACH_STEP_MM = 100.0


@dataclass(frozen=True)
class Around:
    """What a gripper's work stands in: `opening_mm` the ram is open at least, over the die's top, when it is loaded."""

    opening_mm: float


@dataclass(frozen=True)
class StepGrips:
    """One step asked for all grips: geometry and force at load, through all of the stroke, and on the way out.

    `drawn_in`, `drawn_out`: whether the gripper can be taken away, or brought, where the tools hold the part. `against`:
    why a grip does not hold from load to way out, None where it does; `single`: it is one stroke, so the tools may hold
    the part while the gripper lets go.
    """

    load: Bools
    through: Bools
    out: Bools
    drawn_away: Bools
    drawn_near: Bools
    single: bool
    against: tuple[Against | None, ...]
    frames: tuple[Frame | None, ...]


@dataclass(frozen=True)
class Strength:
    """What a grip is asked at a state of the part: None where the gripper's row does not say enough."""

    held: HeldMass
    needs: NeededForce | None
    arm: ArmLoad | None
    holding_n: float | None

    @property
    def holds(self) -> bool | None:
        """Whether the gripper is strong enough; None where it cannot be computed."""
        return None if self.needs is None or self.holding_n is None else self.needs.worst_n <= self.holding_n

    @property
    def carries(self) -> bool | None:
        """Whether the arm carries it; None where it cannot be computed."""
        return None if self.arm is None else self.arm.is_carried


class GripTable:
    """All grips of a section with one gripper, asked step by step; answers are kept."""

    def __init__(self, problem: SectionProblem, part: HeldPart, shape: GripperShape, around: Around) -> None:
        self.problem, self.part, self.shape, self._around = problem, part, shape, around
        self.grips = grips_of(part, shape)
        self._kept: dict[tuple[Candidate, int], StepGrips] = {}
        self._strengths: dict[int, tuple[Strength, ...]] = {}

    def strengths(self, done: int) -> tuple[Strength, ...]:
        """What every grip is asked when the operations of a set are made."""
        if done not in self._strengths:
            path = section_path(self.part.chain, done_angles(self.part.chain, done_zones(self.problem, done)))
            centre = mass_centre_mm(path.points_mm)
            self._strengths[done] = tuple(self._strength(grip, path, centre) for grip in self.grips)
        return self._strengths[done]

    def _strength(self, grip: Grip, path: Path, centre: Points) -> Strength:
        part, row = self.part, self.shape.row
        flat_mm, t = part.chain.flats_mm[grip.flat], part.chain.thickness_mm
        ends = path.ends_mm(2 * grip.flat)
        frame = frame_of(grip, ends, flat_mm, toward_end=True, marked_up=True, thickness_mm=t)
        along, off = frame.seen_mm(centre)
        held = HeldMass(part.mass_kg, float(along), grip.beside_mm, float(off))
        return strength_of(row, self.shape, grip, held, length_mm=part.length_mm)

    def strong(self, done: int) -> tuple[Bools, Bools]:
        """Which grips the gripper holds, and which the arm carries; what cannot be computed speaks against none."""
        all_of = self.strengths(done)
        return np.array([each.holds is not False for each in all_of], dtype=bool), np.array(
            [each.carries is not False for each in all_of], dtype=bool
        )

    def at(self, way: Candidate, done: int, *, stops_mm: tuple[float, float] | None = None) -> StepGrips:
        """Which grips hold at a step; `stops_mm`: X and R of the fingers, which jaws behind the punch keep off."""
        if (way, done) not in self._kept:
            self._kept[way, done] = _Step(self, way, done).answer()
        found = self._kept[way, done]
        gauge = self.problem.gauge
        if stops_mm is None or gauge is None:
            return found
        finger = shapely.Polygon(np.array(gauge.finger_mm) + np.array([-stops_mm[0], stops_mm[1]]))
        at_stops = np.array([self._at_stops(grip, frame, finger) for grip, frame in zip(self.grips, found.frames, strict=True)])
        if not at_stops.any():
            return found
        against = tuple(
            "stops" if hit and why is None else why for hit, why in zip(at_stops.tolist(), found.against, strict=True)
        )
        return replace(
            found,
            load=found.load & ~at_stops,
            through=found.through & ~at_stops,
            drawn_away=found.drawn_away & ~at_stops,
            against=against,
        )

    def _at_stops(self, grip: Grip, frame: Frame | None, finger: shapely.Geometry) -> bool:
        """Whether a jaw behind the punch comes to the fingers, which stand at the ends of the edge as a rule."""
        if grip.kind != "end" or frame is None or frame.at_mm[0] > 0:
            return False
        body = shapely.Polygon(frame.body_mm(self.shape.body_mm("end")))
        return bool(shapely.distance(body, finger) < self.shape.row.fingers_clear_mm)

    def region(self, bodies: tuple[Body, ...], stroke: Stroke) -> Region:
        """What a gripper's body on a wing must not touch through a stroke, kept clear by the row's distance."""
        reach_mm = REACH_STEP_MM * math.ceil((self.problem.chain.developed_mm + self.shape.reach_mm) / REACH_STEP_MM)
        return _region(bodies, stroke, reach_mm, self.shape.row.clear_mm)

    @property
    def around(self) -> Around:
        """What the gripper's work stands in."""
        return self._around


def strength_of(row: object, shape: GripperShape, grip: Grip, held: HeldMass, *, length_mm: float) -> Strength:
    """What a grip is asked with a mass in it."""
    own, pads = shape.row, shape.pads(grip.kind, length_mm)
    needs = arm = None
    if own.friction is not None and own.acceleration_m_per_s2 is not None:
        needs = needed_force(
            held,
            pads,
            friction=own.friction,
            acceleration_m_per_s2=own.acceleration_m_per_s2,
            factor=own.factor,
        )
    if own.payload_kg is not None and own.flange_mm is not None and own.payload_moment_nm is not None:
        arm = arm_load(
            held,
            gripper_kg=own.mass_kg + own.adapter_kg,
            payload_kg=own.payload_kg,
            payload_share=own.payload_share,
            payload_moment_nm=own.payload_moment_nm,
            flange_mm=own.flange_mm,
        )
    return Strength(held, needs, arm, own.holding_n)


@lru_cache(maxsize=256)
def _region(bodies: tuple[Body, ...], stroke: Stroke, reach_mm: float, clear_mm: float) -> Region:
    """The same region is asked by parts of about one size, on any of their blanks."""
    return Region(swept_region(bodies, stroke, reach_mm=reach_mm).sweeps, clear_mm)


class _Step:
    """One step being asked."""

    def __init__(self, table: GripTable, way: Candidate, done: int) -> None:
        self._table, self._way, self._done = table, way, done
        self._problem, self._chain = table.problem, table.problem.chain
        self._operation = self._problem.operations[way.operation]
        self._hits = self._operation.options[way.option].hits
        self._row, self._t = table.shape.row, self._chain.thickness_mm
        self._against: list[Against | None] = [None] * len(table.grips)

    def answer(self) -> StepGrips:
        grips = self._table.grips
        count = len(grips)
        own = np.array([self._own_rules(i, grip) for i, grip in enumerate(grips)], dtype=bool)
        load, through, out = own.copy(), own.copy(), own.copy()
        away, near = own.copy(), own.copy()
        rows = np.flatnonzero(own)
        if len(rows):
            for number, hit in enumerate(self._hits):
                first, last = number == 0, number == len(self._hits) - 1
                begun = self._still(rows, number, 0.0)
                ended = self._still(rows, number, 1.0)
                moved = begun[0] & ended[0]
                if hit.kind == "swing" and moved.any():
                    moved[moved] = self._moving(rows[moved], number)
                load[rows] &= begun[0] if first else moved
                out[rows] &= ended[0] if last else moved
                through[rows] &= moved
                away[rows] &= begun[1]
                near[rows] &= ended[1]
        self._strong_enough(load, through, out)
        against = tuple(None if through[i] else self._against[i] or "tools" for i in range(count))
        single = len(self._hits) == 1 and self._hits[0].kind == "swing"
        return StepGrips(load, through, out, away & load, near & out, single, against, self._frames_at_load())

    def _blame(self, rows: Sequence[int] | NDArray[np.int64], bad: Bools, why: Against) -> None:
        for row in np.asarray(rows)[bad]:
            if self._against[int(row)] is None:
                self._against[int(row)] = why

    # ---- rules of the part alone

    def _front_holds(self, flat: int) -> bool | None:
        """Whether a flat is on the wing in front; None where it lies between an operation's own zones."""
        first, last = self._operation.zones[0], self._operation.zones[-1]
        if first < flat <= last:
            return None
        return (flat > last) == (self._way.behind == 0)

    def _own_rules(self, number: int, grip: Grip) -> bool:
        front = self._front_holds(grip.flat)
        why: Against | None = None
        if front is None or (not front and grip.kind != "end"):
            why = "gauge-side"
        elif not self._off_the_bends(grip):
            why = "bend-zone"
        elif grip.kind == "edge" and (grip.toward_end != (self._way.behind == 0)):
            why = "arm-behind"
        elif grip.kind == "face" and (seen := self._face_seen(grip)) is not None:
            why = seen
        self._against[number] = why
        return why is None

    def _off_the_bends(self, grip: Grip) -> bool:
        """Whether pads keep off the bends beside their flat: half the die's opening, sheet and more of the one made
        now; inside radius, sheet and more of one that is formed; more of the zone of one that is still to come."""
        chain, row = self._chain, self._row
        half_mm = self._table.shape.covers_mm(grip.kind, self._table.part.length_mm)[0] / 2
        formed = done_zones(self._problem, self._done)
        for zone, room_mm in ((grip.flat - 1, grip.at_mm), (grip.flat, chain.flats_mm[grip.flat] - grip.at_mm)):
            if not 0 <= zone < chain.bends:
                continue
            half_zone_mm = chain.zones_mm[zone] / 2
            if zone in self._operation.zones:
                limit_mm = max(hit.stack.opening_mm for hit in self._hits) / 2 + self._t + row.bend_free_mm
            elif zone in formed:
                limit_mm = chain.radii_mm[zone] + self._t + row.bend_free_mm
            else:
                limit_mm = half_zone_mm + row.bend_free_mm
            if room_mm - half_mm < max(limit_mm - half_zone_mm, row.bend_free_mm) - SAME_MM:
                return False
        return True

    def _face_seen(self, grip: Grip) -> Against | None:
        """Why a face can not be held as it lies at load; None where it can."""
        frame = self._frame(grip, part_path(self._problem, self._way, self._done))
        wanted = "above" if frame.away[1] >= LEANS_BACK else "below"
        if wanted not in self._row.may_hold:
            return "not-this-side"
        if not self._table.shape.along_alike and frame.along[0] < -SAME_MM:
            return "arm-behind"
        return None

    # ---- where grips lie

    def _frame(self, grip: Grip, path: Path) -> Frame:
        """A grip on the part as it lies in the machine, read from behind to the front."""
        return frame_of(
            grip,
            path.ends_mm(2 * grip.flat),
            self._chain.flats_mm[grip.flat],
            toward_end=self._way.behind == 0,
            marked_up=self._way.marked_up,
            thickness_mm=self._t,
        )

    def _frames_at_load(self) -> tuple[Frame | None, ...]:
        path = part_path(self._problem, self._way, self._done)
        return tuple(
            None if self._front_holds(grip.flat) is None else self._frame(grip, path) for grip in self._table.grips
        )

    def _bodies_mm(self, grips: Sequence[Grip], frames: Sequence[Frame]) -> list[Points]:
        return [frame.body_mm(self._table.shape.body_mm(grip.kind)) for grip, frame in zip(grips, frames, strict=True)]

    # ---- the machine at rest

    def _still(self, rows: NDArray[np.int64], number: int, share: float) -> tuple[Bools, Bools]:
        """At the beginning or the end of a hit: whether bodies keep clear, and can be drawn away from there as well."""
        hit, grips = self._hits[number], [self._table.grips[int(row)] for row in rows]
        path = part_path(self._problem, self._way, self._done, hit=number, share=share)
        frames = [self._frame(grip, path) for grip in grips]
        bodies = self._bodies_mm(grips, frames)
        nose_mm, clear_mm = self._nose_mm(number, share), self._row.clear_mm
        stack = hit.stack.bodies
        clear = np.ones(len(rows), dtype=bool)
        for tool in stack:
            clear &= ~_near(_polygons(bodies, -nose_mm if tool.with_ram else 0.0), tool, clear_mm)
        self._blame(rows, ~clear, "tools")
        own = _polygons(bodies, 0.0)
        others = [self._others(path, grip.flat) for grip in grips]
        free = shapely.distance(own, np.array(others, dtype=object)) >= self._t / 2 + PART_CLEAR_MM - SAME_MM
        self._blame(rows, clear & ~free, "part")
        good = clear & free
        good[good] = self._opens(number, share, [body for body, ok in zip(bodies, good, strict=True) if ok])
        self._blame(rows, clear & free & ~good, "tools")
        drawn = good.copy()
        if self._row.release_s is not None or self._row.regrip_in_tools_s is not None:
            left = np.flatnonzero(good)
            drawn[left] = [self._drawn(grips[n], frames[n], bodies[n], others[n], stack, nose_mm) for n in left]
        return good, drawn

    def _nose_mm(self, number: int, share: float) -> float:
        """Height of the nose over the die's top: of a swing by its depth, of what is pressed on the sheet."""
        hit = self._hits[number]
        if hit.kind != "swing":
            return self._t if hit.kind == "offset" else 2 * self._t
        stroke = stroke_of(self._chain, self._operation, hit)
        return -float(stroke.depth_mm(share * stroke.half_turn_deg))

    def _others(self, path: Path, flat: int) -> shapely.Geometry:
        """The part without one of its flats, on its middle surface."""
        pairs = np.stack([path.points_mm[:-1], path.points_mm[1:]], axis=1)
        keep = (path.spans[1:] != 2 * flat) | (path.spans[:-1] != 2 * flat)
        return shapely.multilinestrings(list(pairs[keep])) if keep.any() else shapely.Point(0.0, FAR_MM)

    def _opens(self, number: int, share: float, bodies: Sequence[Points]) -> Bools:
        """Whether nothing is touched while the ram opens, or comes down, and the part goes to the front, or comes.

        The ram opens no less than what is kept in hand; opened further it is no nearer.
        """
        open_mm, nose_mm = self._table.around.opening_mm, self._nose_mm(number, share)
        clear = np.ones(len(bodies), dtype=bool)
        forward, down = np.array([FAR_MM, 0.0]), np.array([0.0, nose_mm - open_mm])
        for tool in self._hits[number].stack.bodies:
            if tool.with_ram:
                # The body going up past the gripper is the gripper going down past the body.
                clear &= ~_sweeps_near(bodies, down, tool, self._row.clear_mm, shift_mm=-nose_mm)
                clear &= ~_sweeps_near(bodies, forward, tool, self._row.clear_mm, shift_mm=-open_mm)
            else:
                clear &= ~_sweeps_near(bodies, forward, tool, self._row.clear_mm)
        return clear

    def _drawn(
        self,
        grip: Grip,
        frame: Frame,
        body: Points,
        other: shapely.Geometry,
        tools: Sequence[Body],
        nose_mm: float,
    ) -> bool:
        """Whether the gripper, open, can be drawn off the sheet while the tools hold it: along its arm, or off a face.

        A jaw at the part's end goes along the bed, where nothing of the section lies.
        """
        if grip.kind == "end":
            return True
        far_mm = self._row.draw_back_mm + (self._row.pad_across_mm if grip.kind == "edge" else 0.0)
        way = (frame.along if grip.kind == "edge" else frame.away) * far_mm
        for tool in tools:
            shift_mm = -nose_mm if tool.with_ram else 0.0
            if _sweeps_near([body], way, tool, self._row.clear_mm, shift_mm=shift_mm)[0]:
                return False
        return bool(shapely.distance(_hulls(body, way), other).min() >= self._t / 2 + PART_CLEAR_MM - SAME_MM)

    # ---- through the stroke

    def _moving(self, rows: NDArray[np.int64], number: int) -> Bools:
        """Whether bodies keep clear of tools and of the other wing through a swing."""
        hit = self._hits[number]
        stroke = stroke_of(self._chain, self._operation, hit)
        front, behind = wing_paths(self._problem, self._way, self._done)
        good = np.ones(len(rows), dtype=bool)
        for own, other, is_front in ((front, behind, True), (behind, front, False)):
            here = np.array([self._front_holds(self._table.grips[int(row)].flat) is is_front for row in rows])
            if not here.any():
                continue
            grips = [self._table.grips[int(row)] for row in rows[here]]
            toward_end = (self._way.behind == 0) == is_front
            frames = [
                frame_of(
                    grip,
                    own.ends_mm(2 * grip.flat),
                    self._chain.flats_mm[grip.flat],
                    toward_end=toward_end,
                    marked_up=self._way.marked_up,
                    thickness_mm=self._t,
                )
                for grip in grips
            ]
            bodies = [shapely.Polygon(body) for body in self._bodies_mm(grips, frames)]
            seen = hit.stack.bodies if is_front else hit.stack.seen_from_behind()
            region = self._table.region(seen, stroke)
            struck = region.may_strike(np.array(bodies, dtype=object))
            self._blame(rows[here], struck, "tools")
            met = self._meets_wing(np.array(bodies, dtype=object), other, stroke)
            self._blame(rows[here], ~struck & met, "part")
            good[here] = ~(struck | met)
        return good

    def _meets_wing(self, bodies: Geometries, other: Path, stroke: Stroke) -> Bools:
        """Whether the other wing comes to a body on this one: hulls of its pieces from moment to moment."""
        halves = np.linspace(0.0, stroke.half_turn_deg, MOMENTS + 1).tolist()
        laid = (other.placed(rotate_deg=half, to_mm=stroke.edge_mm(half), mirror=True) for half in halves)
        placed = np.stack(
            [stroke.seen_mm(path.points_mm, half, with_ram=False) for half, path in zip(halves, laid, strict=True)]
        )
        size_mm = float(np.abs(other.points_mm).max()) + self._table.shape.reach_mm + stroke.opening_mm
        bulge_mm = size_mm / 8 * math.radians(2 * stroke.half_turn_deg / MOMENTS) ** 2
        corners = np.stack([placed[:-1, :-1], placed[:-1, 1:], placed[1:, 1:], placed[1:, :-1]], axis=-2)
        hulls = shapely.convex_hull(shapely.linestrings(corners.reshape(-1, 4, 2)))
        near_mm = self._t / 2 + PART_CLEAR_MM + bulge_mm
        rows, _ = shapely.STRtree(hulls).query(bodies, predicate="dwithin", distance=near_mm)
        met = np.zeros(len(bodies), dtype=bool)
        met[rows] = True
        return met

    # ---- force

    def _strong_enough(self, load: Bools, through: Bools, out: Bools) -> None:
        after = self._done | 1 << self._way.operation
        rows = np.arange(len(load))
        holds, carries = self._table.strong(self._done)
        holds_after, carries_after = self._table.strong(after)
        self._blame(rows, through & ~(carries & carries_after), "payload")
        self._blame(rows, through & ~(holds & holds_after), "force")
        before, later = holds & carries, holds_after & carries_after
        load &= before
        out &= later
        through &= before & later


@lru_cache(maxsize=512)
def _tool(body: Body) -> shapely.Geometry:
    """A body of the machine where it is drawn, made ready to be asked often."""
    shape = shapely.make_valid(shapely.Polygon(body.points_mm))
    shapely.prepare(shape)
    return shape


def _polygons(bodies_mm: Sequence[Points], up_mm: float) -> Geometries:
    found: Geometries = np.array([shapely.Polygon(body + [0.0, up_mm]) for body in bodies_mm], dtype=object)
    return found


def _near(shapes: Geometries, tool: Body, clear_mm: float) -> Bools:
    """Of shapes, which come nearer to a tool than is to be kept."""
    found: Bools = shapely.dwithin(_tool(tool), shapes, clear_mm - SAME_MM)
    return found


def _hulls(body_mm: Points, way_mm: Points) -> Geometries:
    """What the edges of a body sweep on a straight way."""
    following = np.roll(body_mm, -1, axis=0)
    corners = np.stack([body_mm, following, following + way_mm, body_mm + way_mm], axis=1)
    hulls: Geometries = shapely.convex_hull(shapely.linestrings(corners))
    return hulls


def _sweeps_near(
    bodies_mm: Sequence[Points], way_mm: Points, tool: Body, clear_mm: float, *, shift_mm: float = 0.0
) -> Bools:
    """Which bodies come too near to a tool somewhere on a straight way; both moved up by `shift_mm` at first."""
    low, _, high, _ = _tool(tool).bounds
    found = np.zeros(len(bodies_mm), dtype=bool)
    left, hulls, owners = [], [], []
    for number, body in enumerate(bodies_mm):
        reached = (body[:, 0].min() + min(way_mm[0], 0.0), body[:, 0].max() + max(way_mm[0], 0.0))
        if reached[0] <= high + clear_mm and reached[1] >= low - clear_mm:
            left.append(number)
            hulls.append(_hulls(body + [0.0, shift_mm], way_mm))
            owners.append(np.full(len(body), number))
    if left:
        near = _near(np.concatenate(hulls), tool, clear_mm)
        found[np.concatenate(owners)[near]] = True
    return found
