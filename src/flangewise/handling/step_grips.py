"""One step asked for all grips of a gripper: the rules of the part, the machine at rest, the stroke.

Held on a wing the gripper is a part of it: what the tools sweep as that wing sees them must not touch its body. What
rises on the other side of the bend is carried past it moment by moment. Rules about bend zones, holes and edges are
common practice; their distances stand in the gripper's row.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance import Body, Region, Stroke, swept_region
from flangewise.geometry import Path, Points
from flangewise.handling.bodies_in_hand import BodiesInHand
from flangewise.handling.gripper import Grip, GripFrame, GripperShape, HeldPart, frame_of
from flangewise.records import dataclass
from flangewise.sequence import Candidate, SectionProblem, done_zones, part_path, stroke_of, wing_paths

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

Against = Literal[
    "gauge-side",
    "bend-zone",
    "arm-behind",
    "not-this-side",
    "tools",
    "part",
    "stops",
    "force",
    "payload",
    "draw-back",
    "pressed",
    "way-out",
    "not-picked",
    "not-come-to",
]
# The order in which grips are asked: the one that comes furthest is told of.
AGAINST: tuple[Against, ...] = (
    *("gauge-side", "bend-zone", "not-this-side", "arm-behind", "payload", "force", "part", "tools", "stops"),
    *("draw-back", "pressed", "way-out", "not-picked", "not-come-to"),
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

    `drawn_away`, `drawn_near`: whether the gripper can be taken away, or brought, where the tools hold the part.
    `against`: why a grip does not hold from load to way out, None where it does; `frames`: where those lie at load that
    keep the rules of the part and are strong enough; `single`: it is one stroke, so the
    tools may hold the part while the gripper lets go.
    """

    load: Bools
    through: Bools
    out: Bools
    drawn_away: Bools
    drawn_near: Bools
    single: bool
    against: tuple[Against | None, ...]
    frames: tuple[GripFrame | None, ...]


@dataclass(frozen=True)
class InHand:
    """What a step is asked of: problem, part, gripper, its grips, and what their work stands in.

    `slack_mm`: how far a grip, or anything of the part, may be from here on the blanks of other tools. Then a grip is
    told to fail only where it fails on all of them: what comes nearer than is to be kept by more than the slack does so
    wherever it is. Where the slack is more than is to be kept, nothing is said of tools, and with
    any slack nothing of the radii of bends that are formed.
    """

    problem: SectionProblem
    part: HeldPart
    shape: GripperShape
    grips: tuple[Grip, ...]
    around: Around
    slack_mm: float = 0.0

    @property
    def clear_mm(self) -> float:
        """What is kept clear of tools, less the slack."""
        return self.shape.row.clear_mm - self.slack_mm

    @property
    def part_clear_mm(self) -> float:
        """What is kept from the middle of the part's other sheet, less the slack of both."""
        return self.problem.chain.thickness_mm / 2 + PART_CLEAR_MM - 2 * self.slack_mm


@lru_cache(maxsize=256)
def _region(bodies: tuple[Body, ...], stroke: Stroke, reach_mm: float, clear_mm: float) -> Region:
    """The same region is asked by parts of about one size, on any of their blanks."""
    return Region(swept_region(bodies, stroke, reach_mm=reach_mm).sweeps, clear_mm)


def grips_at_step(asked: InHand, way: Candidate, done: int, strong: tuple[Bools, Bools]) -> StepGrips:
    """Which grips hold at a step; `strong`: which the gripper holds and which the arm carries, before it and after."""
    return _Step(asked, way, done).answer(*strong)


class _Step:
    """One step being asked."""

    def __init__(self, asked: InHand, way: Candidate, done: int) -> None:
        self._asked, self._way, self._done = asked, way, done
        self._problem, self._chain = asked.problem, asked.problem.chain
        self._operation = self._problem.operations[way.operation]
        self._hits = self._operation.options[way.option].hits
        self._row, self._t = asked.shape.row, self._chain.thickness_mm
        self._formed = done_zones(self._problem, done)
        self._against: list[Against | None] = [None] * len(asked.grips)

    def answer(self, holds: Bools, carries: Bools) -> StepGrips:
        """All grips, from the rules that are soonest asked to the stroke."""
        grips = self._asked.grips
        path = part_path(self._problem, self._way, self._done)
        own = np.array([self._own_rules(i, grip, path) for i, grip in enumerate(grips)], dtype=bool)
        for bad, why in ((~carries, "payload"), (~holds, "force")):
            self._blame(np.arange(len(grips)), own & bad, why)  # type: ignore[arg-type]
            own &= ~bad
        frames = tuple(self._frame(grip, path) if fits else None for grip, fits in zip(grips, own, strict=True))
        load, through, out, away, near = (own.copy() for _ in range(5))
        rows = np.flatnonzero(own if self._asked.clear_mm >= 0 else own & False)
        for number, hit in enumerate(self._hits if len(rows) else ()):
            begun, begun_away = self._still(rows, number, 0.0)
            ended, ended_near = self._still(rows, number, 1.0)
            moved = begun & ended
            if hit.kind == "swing" and moved.any():
                moved[moved] = self._moving(rows[moved], number)
            load[rows] &= begun if number == 0 else moved
            out[rows] &= ended if number == len(self._hits) - 1 else moved
            through[rows] &= moved
            away[rows] &= begun_away
            near[rows] &= ended_near
        against = tuple(None if through[i] else self._against[i] or "tools" for i in range(len(grips)))
        single = len(self._hits) == 1 and self._hits[0].kind == "swing"
        return StepGrips(load, through, out, away & load, near & out, single, against, frames)

    def _blame(self, rows: Ints, bad: Bools, why: Against) -> None:
        for row in rows[bad].tolist():
            if self._against[row] is None:
                self._against[row] = why

    # ---- rules of the part alone

    def _in_front(self, flat: int) -> bool | None:
        """Whether a flat is on the wing in front; None where it lies between an operation's own zones."""
        first, last = self._operation.zones[0], self._operation.zones[-1]
        if first < flat <= last:
            return None
        return (flat > last) == (self._way.behind == 0)

    def _own_rules(self, number: int, grip: Grip, path: Path) -> bool:
        front = self._in_front(grip.flat)
        why: Against | None = None
        if front is None or (not front and grip.kind != "end"):
            why = "gauge-side"
        elif not self._off_the_bends(grip):
            why = "bend-zone"
        elif grip.kind == "edge" and (grip.toward_end != (self._way.behind == 0)):
            why = "arm-behind"
        elif grip.kind == "face":
            why = self._face_seen(self._frame(grip, path))
        self._against[number] = why
        return why is None

    def _off_the_bends(self, grip: Grip) -> bool:
        """Whether pads keep off the bends beside their flat: half the die's opening, sheet and more of the one made
        now; inside radius, sheet and more of one that is formed; more of the zone of one that is still to come."""
        chain, row = self._chain, self._row
        half_mm = self._asked.shape.covers_mm(grip.kind, self._asked.part.length_mm)[0] / 2
        for zone, room_mm in ((grip.flat - 1, grip.at_mm), (grip.flat, chain.flats_mm[grip.flat] - grip.at_mm)):
            if not 0 <= zone < chain.bends:
                continue
            half_zone_mm = chain.zones_mm[zone] / 2
            if zone in self._operation.zones:
                limit_mm = max(hit.stack.opening_mm for hit in self._hits) / 2 + self._t + row.bend_free_mm
            elif zone in self._formed and not self._asked.slack_mm:
                limit_mm = chain.radii_mm[zone] + self._t + row.bend_free_mm
            else:
                limit_mm = half_zone_mm + row.bend_free_mm
            keep_mm = max(limit_mm - half_zone_mm, row.bend_free_mm) - 2 * self._asked.slack_mm
            if room_mm - half_mm < keep_mm - SAME_MM:
                return False
        return True

    def _face_seen(self, frame: GripFrame) -> Against | None:
        """Why a face can not be held as it lies at load; None where it can."""
        wanted = "above" if frame.away[1] >= LEANS_BACK else "below"
        if wanted not in self._row.may_hold:
            return "not-this-side"
        turned_away = not self._asked.shape.along_alike and frame.along[0] < -SAME_MM
        return "arm-behind" if turned_away else None

    # ---- the machine at rest

    def _frame(self, grip: Grip, path: Path) -> GripFrame:
        """A grip on the part as it lies in the machine, read from behind to the front."""
        return frame_of(
            grip,
            path.ends_mm(2 * grip.flat),
            self._chain.flats_mm[grip.flat],
            toward_end=self._way.behind == 0,
            marked_up=self._way.marked_up,
            thickness_mm=self._t,
        )

    def _bodies_mm(self, grips: Sequence[Grip], frames: Sequence[GripFrame]) -> list[Points]:
        return [frame.body_mm(self._asked.shape.body_mm(grip.kind)) for grip, frame in zip(grips, frames, strict=True)]

    def _still(self, rows: Ints, number: int, share: float) -> tuple[Bools, Bools]:
        """At the beginning or the end of a hit: whether bodies keep clear, and can be drawn away from there as well.

        The ram opens no less than what is kept in hand, the part goes to the front; opened further it is no nearer.
        """
        grips = [self._asked.grips[row] for row in rows.tolist()]
        path = part_path(self._problem, self._way, self._done, hit=number, share=share)
        frames = [self._frame(grip, path) for grip in grips]
        bodies = BodiesInHand(self._bodies_mm(grips, frames))
        nose_mm, clear_mm, open_mm = self._nose_mm(number, share), self._asked.clear_mm, self._asked.around.opening_mm
        stack = self._hits[number].stack.bodies
        fixed, rising = [body for body in stack if not body.with_ram], [body for body in stack if body.with_ram]
        met = bodies.near(fixed, clear_mm, up_mm=0.0) | bodies.near(rising, clear_mm, up_mm=-nose_mm)
        forward, down = np.array([FAR_MM, 0.0]), np.array([0.0, nose_mm - open_mm])
        self._blame(rows, met, "tools")
        others = {flat: self._others(path, flat) for flat in {grip.flat for grip in grips}}
        other = np.array([others[grip.flat] for grip in grips], dtype=object)
        near_part = shapely.distance(bodies.polygons(), other) < self._asked.part_clear_mm - SAME_MM
        self._blame(rows, ~met & near_part, "part")
        good = ~(met | near_part)
        good &= ~bodies.sweeps_near(good, forward, fixed, clear_mm)
        # A body going up past the gripper is the gripper going down past the body.
        good &= ~bodies.sweeps_near(good, down, rising, clear_mm, up_mm=-nose_mm)
        good &= ~bodies.sweeps_near(good, forward, rising, clear_mm, up_mm=-open_mm)
        self._blame(rows, ~(met | near_part | good), "tools")
        if self._row.release_s is None and self._row.regrip_in_tools_s is None:
            return good, good
        ways = np.array([self._drawn_mm(grip, frame) for grip, frame in zip(grips, frames, strict=True)])
        drawn = good & ~bodies.sweeps_near(good, ways, fixed, clear_mm)
        drawn &= ~bodies.sweeps_near(drawn, ways, rising, clear_mm, up_mm=-nose_mm)
        for row in np.flatnonzero(drawn & (np.abs(ways).sum(axis=1) > 0)).tolist():
            apart_mm = bodies.swept_apart_mm(row, ways[row], other[row])
            drawn[row] = apart_mm >= self._asked.part_clear_mm - SAME_MM
        return good, drawn

    def _drawn_mm(self, grip: Grip, frame: GripFrame) -> Points:
        """On what way the gripper, open, is drawn off the sheet while the tools hold it: along its arm, or off a face.

        A jaw at the part's end goes along the bed, where nothing of the section lies.
        """
        if grip.kind == "end":
            return np.zeros(2)
        far_mm = self._row.draw_back_mm + (self._row.pad_across_mm if grip.kind == "edge" else 0.0)
        way: Points = (frame.along if grip.kind == "edge" else frame.away) * far_mm
        return way

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

    # ---- through the stroke

    def _moving(self, rows: Ints, number: int) -> Bools:
        """Whether bodies keep clear of tools and of the other wing through a swing."""
        hit = self._hits[number]
        stroke = stroke_of(self._chain, self._operation, hit)
        front, behind = wing_paths(self._problem, self._way, self._done)
        good = np.ones(len(rows), dtype=bool)
        reach_mm = REACH_STEP_MM * math.ceil((self._chain.developed_mm + self._asked.shape.reach_mm) / REACH_STEP_MM)
        for own, other, is_front in ((front, behind, True), (behind, front, False)):
            here = np.array([self._in_front(self._asked.grips[row].flat) is is_front for row in rows.tolist()])
            if not here.any():
                continue
            grips = [self._asked.grips[row] for row in rows[here].tolist()]
            frames = [
                frame_of(
                    grip,
                    own.ends_mm(2 * grip.flat),
                    self._chain.flats_mm[grip.flat],
                    toward_end=(self._way.behind == 0) == is_front,
                    marked_up=self._way.marked_up,
                    thickness_mm=self._t,
                )
                for grip in grips
            ]
            bodies = BodiesInHand(self._bodies_mm(grips, frames)).polygons()
            seen = hit.stack.bodies if is_front else hit.stack.seen_from_behind()
            struck = _region(seen, stroke, reach_mm, self._asked.clear_mm).may_strike(bodies)
            self._blame(rows[here], struck, "tools")
            met = self._meets_wing(bodies, other, stroke)
            self._blame(rows[here], ~struck & met, "part")
            good[here] = ~(struck | met)
        return good

    def _meets_wing(self, bodies: NDArray[np.object_], other: Path, stroke: Stroke) -> Bools:
        """Whether the other wing comes to a body on this one: hulls of its pieces from moment to moment."""
        halves = np.linspace(0.0, stroke.half_turn_deg, MOMENTS + 1).tolist()
        laid = (other.placed(rotate_deg=half, to_mm=stroke.edge_mm(half), mirror=True) for half in halves)
        placed = np.stack(
            [stroke.seen_mm(path.points_mm, half, with_ram=False) for half, path in zip(halves, laid, strict=True)]
        )
        size_mm = float(np.abs(other.points_mm).max()) + self._asked.shape.reach_mm + stroke.opening_mm
        bulge_mm = size_mm / 8 * math.radians(2 * stroke.half_turn_deg / MOMENTS) ** 2
        corners = np.stack([placed[:-1, :-1], placed[:-1, 1:], placed[1:, 1:], placed[1:, :-1]], axis=-2)
        hulls = shapely.convex_hull(shapely.linestrings(corners.reshape(-1, 4, 2)))
        near_mm = self._asked.part_clear_mm + bulge_mm
        met = np.zeros(len(bodies), dtype=bool)
        if near_mm > 0:
            rows, _ = shapely.STRtree(hulls).query(bodies, predicate="dwithin", distance=near_mm)
            met[rows] = True
        return met
