"""One hit of a panel asked for all grips of a gripper, in space: the rules of the part, the machine at rest, the stroke.

As of a section: held on a wing the gripper is a part of it. Tools stand where their rows do, ears with their feet;
what stands along a stretch of the bed meets what of the body lies over that stretch, seen along the bed. A piece of the
body counts as its whole outline over all of its stretch, so that nothing is missed where it lies askew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance import (
    Body,
    Geometries,
    Region,
    Solid,
    Solids,
    Stroke,
    at_rest,
    least_apart_mm,
    prisms,
    slid_into,
    solids_meet,
    swept_region,
)
from flangewise.geometry import Frame, as_frame
from flangewise.handling.bodies_in_hand import tool_shape
from flangewise.handling.gripper import SAME_MM, GripperShape
from flangewise.handling.panel_grip import PanelBody, PanelGrip, pads_of, strip_of
from flangewise.handling.step_grips import FAR_MM, LEANS_BACK, PART_CLEAR_MM, REACH_STEP_MM, Against, StepGrips
from flangewise.panel_order import Hit, PanelShapes, PanelStep, StandingRow, Wing, standing
from flangewise.punch_die import Placed

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Run = tuple[float, float]

# An arm that points along the bed to within this, or to the back by no more, is taken for one that does, or does not.
ALONG_BED, TO_THE_BACK = 0.94, 0.26
ENDLESS: Run = (-math.inf, math.inf)


@dataclass(frozen=True)
class AtHit:
    """A hit of a plan as its grips are asked: its tools, what is bent before, how far the ram opens, the fingers."""

    step: PanelStep
    hit: Hit
    opening_mm: float

    @property
    def done(self) -> frozenset[int]:
        """The bends made before."""
        return self.step.done


class PanelInHand:
    """A panel, a gripper and its grips; what of them no step changes."""

    def __init__(self, shapes: PanelShapes, shape: GripperShape, grips: Sequence[PanelGrip]) -> None:
        self.shapes, self.shape, self.grips = shapes, shape, tuple(grips)
        self.body = PanelBody(shape)
        self.bare, self.grown = (Solids(self.body.pieces(mm)) for mm in (0.0, PART_CLEAR_MM))
        self.thickness_mm = shapes.blank.thickness_mm

    @property
    def pieces(self) -> int:
        """How many convex pieces the body is of."""
        return len(self.bare.each)

    @lru_cache(maxsize=4096)  # noqa: B019 (lives as long as the plan that it is asked for)
    def bends_beside_mm(self, number: int) -> tuple[tuple[int, float, float, float], ...]:
        """The bends beside the face of a grip: number, how far the pads are from the strip, half its width, radius."""
        grip, blank = self.grips[number], self.shapes.blank
        pads = pads_of(grip, self.shape)
        return tuple(
            (
                zone.bend,
                float(shapely.distance(strip_of(zone), pads)),
                zone.allowance.allowance_mm / 2,
                zone.inside_radius_mm,
            )
            for zone in blank.zones
            if grip.face in (zone.face_from, zone.face_to)
        )


def panel_grips_at(asked: PanelInHand, at: AtHit, strong: tuple[Bools, Bools]) -> StepGrips:
    """Which grips hold at a hit; `strong`: which the gripper holds and which the arm carries, before it and after."""
    return _PanelStep(asked, at).answer(*strong)


class _PanelStep:
    """One hit being asked. In its own frame x runs along the bed to the right, y to the back, z up."""

    def __init__(self, asked: PanelInHand, at: AtHit) -> None:
        self._asked, self._at, self._hit = asked, at, at.hit
        self._row, self._t = asked.shape.row, asked.thickness_mm
        self._against: list[Against | None] = [None] * len(asked.grips)
        self._kept: dict[tuple[Wing, int | None], tuple[Solid, ...]] = {}
        self._front = np.array([grip.face in self._hit.front.branches for grip in asked.grips], dtype=bool)

    def answer(self, holds: Bools, carries: Bools) -> StepGrips:
        """All grips, from the rules that are soonest asked to the stroke."""
        grips, swings = self._asked.grips, self._hit.tools.kind == "swing" and self._at.step.then is None
        own = np.array([self._own_rules(number, grip) for number, grip in enumerate(grips)], dtype=bool)
        for bad, why in ((~carries, "payload"), (~holds, "force")):
            self._blame(np.arange(len(grips)), own & bad, why)  # type: ignore[arg-type]
            own &= ~bad
        if not swings:
            self._blame(np.arange(len(grips)), own, "pressed")
            own &= False
        load, through, out, away, near = (own.copy() for _ in range(5))
        rows = np.flatnonzero(own)
        if len(rows):
            rows = rows[~self._meets_own_wing(rows)]
        for each in (load, through, out, away, near):
            each &= np.isin(np.arange(len(grips)), rows)
        if len(rows):
            begun, begun_away = self._still(rows, 0.0)
            ended, ended_near = self._still(rows, 1.0)
            moved = begun & ended
            if moved.any():
                moved[moved] = self._moving(rows[moved])
            load[rows], out[rows], through[rows] = begun, ended, moved
            away[rows], near[rows] = begun_away, ended_near
        against = tuple(None if through[i] else self._against[i] or "tools" for i in range(len(grips)))
        return StepGrips(load, through, out, away & load, near & out, swings, against, (None,) * len(grips))

    def _blame(self, rows: Ints, bad: Bools, why: Against) -> None:
        for row in rows[bad].tolist():
            if self._against[row] is None:
                self._against[row] = why

    # ---- rules of the part alone

    def _wing(self, number: int) -> Wing:
        return self._hit.front if self._front[number] else self._hit.behind

    def _in_wing(self, number: int, *, on_skin: bool = True) -> Frame:
        """A grip's axes in the frame of its wing before the hit."""
        grip = self._asked.grips[number]
        wing = self._wing(number)
        stand = wing.frame(grip.face, wing.branches[grip.face].state(self._at.done))
        return stand.after(grip.stands_on(self._t) if on_skin else grip.stand)

    def _own_rules(self, number: int, grip: PanelGrip) -> bool:
        lying = machine_frame(self._hit, front=bool(self._front[number]), share=0.0).after(self._in_wing(number))
        arm, _, away = np.array(lying.rotation).T
        along_bed = abs(float(arm[0])) >= ALONG_BED
        why: Against | None = None
        if not self._front[number] and (grip.kind == "face" or not along_bed):
            why = "gauge-side"
        elif not self._off_the_bends(number):
            why = "bend-zone"
        elif grip.kind == "edge":
            if not along_bed and arm[1] > TO_THE_BACK:
                why = "arm-behind"
            elif ("end" if along_bed else "edge") not in self._row.may_hold:
                why = "not-this-side"
        elif ("above" if away[2] >= LEANS_BACK else "below") not in self._row.may_hold:
            why = "not-this-side"
        elif not self._asked.shape.along_alike and arm[1] > SAME_MM:
            why = "arm-behind"
        self._against[number] = why
        return why is None

    def _off_the_bends(self, number: int) -> bool:
        """As of a section: half the die's opening, sheet and more from the line that is bent now; from one that is
        formed its radius, sheet and more; more than the strip of one that is still to come."""
        more_mm = self._row.bend_free_mm
        for bend, apart_mm, half_mm, radius_mm in self._asked.bends_beside_mm(number):
            limit_mm = half_mm + more_mm
            if bend in self._hit.operation.bends:
                limit_mm = self._hit.tools.stack.opening_mm / 2 + self._t + more_mm
            elif bend in self._at.done:
                limit_mm = radius_mm + self._t + more_mm
            if apart_mm < max(limit_mm - half_mm, more_mm) - SAME_MM:
                return False
        return True

    # ---- the part itself

    def _solids(self, wing: Wing, *, without: int | None = None) -> tuple[Solid, ...]:
        """The faces and bends of a wing before the hit, in its own frame, as thick as they are; one face left out."""
        if (wing, without) not in self._kept:
            half = self._t / 2
            self._kept[wing, without] = tuple(
                solid
                for face, state in wing.nodes(self._at.done)
                for solid in (wing.bend if face == without else wing.solids)(face, state, half)
            )
        return self._kept[wing, without]

    def _meets_own_wing(self, rows: Ints) -> Bools:
        """Whether bodies come too near to what else hangs on the wing that they hold: it moves as they do."""
        found = np.zeros(len(rows), dtype=bool)
        for at, number in enumerate(rows.tolist()):
            others = self._solids(self._wing(number), without=self._asked.grips[number].face)
            found[at] = _overlaps(self._asked.grown.placed(self._in_wing(number)), others)
        self._blame(rows, found, "part")
        return found

    # ---- the machine at rest

    def _still(self, rows: Ints, share: float) -> tuple[Bools, Bools]:
        """At the beginning or the end of the stroke: whether bodies keep clear, the ram goes up past them and they go
        out from there, and whether they can be drawn off."""
        seen = [self._placed(number, share) for number in rows.tolist()]
        bare = _Seen([solid.corners_mm for pieces, _ in seen for solid in pieces], self._asked.pieces)
        tools = list(self._tools())
        nose_mm, open_mm, clear_mm = self._nose_mm(share), self._at.opening_mm, self._row.clear_mm
        up = max(open_mm - nose_mm, 0.0)
        met = np.zeros(len(rows), dtype=bool)
        for body, run in tools:
            met |= bare.near(body, run, clear_mm, up_mm=nose_mm if body.with_ram else 0.0)
        self._blame(rows, met, "tools")
        at_stops = self._at_stops(bare) if share == 0.0 else np.zeros(len(rows), dtype=bool)
        self._blame(rows, ~met & at_stops, "stops")
        near_part = np.array([self._meets_other_wing(number, share) for number in rows.tolist()], dtype=bool)
        self._blame(rows, ~met & ~at_stops & near_part, "part")
        good = ~(met | at_stops | near_part)
        blocked = np.zeros(len(rows), dtype=bool)
        for body, run in tools:
            if body.with_ram:
                # A body going up past the gripper is the gripper going down past the body.
                blocked |= bare.moved((0.0, 0.0, -up)).near(body, run, clear_mm, up_mm=nose_mm)
        blocked |= self._shut_in(bare, tools, share)
        self._blame(rows, good & blocked, "tools")
        good &= ~blocked
        if self._row.release_s is None and self._row.regrip_in_tools_s is None:
            return good, good
        return good, good & self._drawn(rows, seen, tools, nose_mm)

    def _shut_in(self, bare: _Seen, tools: Sequence[tuple[Body, Run]], share: float) -> Bools:
        """Whether bodies do not come in from the front under the open ram, or out the way that the part goes."""
        leaving, found = self._at.step.leaving, []
        ways = [(0.0, -FAR_MM, 0.0)]
        if share == 1.0 and leaving is not None:
            if leaving.way == "turned":
                return np.ones(bare.count, dtype=bool)
            if leaving.along_bed:
                ways = [(-FAR_MM, 0.0, 0.0), (FAR_MM, 0.0, 0.0)]
        for way in ways:
            swept, shut = bare.moved(way), np.zeros(bare.count, dtype=bool)
            for body, run in tools:
                up_mm = self._at.opening_mm if body.with_ram else 0.0
                shut |= swept.near(body, run, self._row.clear_mm, up_mm=up_mm)
            found.append(shut)
        every: Bools = np.logical_and.reduce(found)
        return every

    def _drawn(
        self, rows: Ints, seen: Sequence[tuple[tuple[Solid, ...], Frame]], tools: Sequence[tuple[Body, Run]], nose_mm: float
    ) -> Bools:
        """Whether the gripper, open, is drawn off the sheet that the tools hold: along its arm, or off a face."""
        found = np.ones(len(rows), dtype=bool)
        share = 0.0 if nose_mm == self._nose_mm(0.0) else 1.0
        for at, (number, (pieces, lying)) in enumerate(zip(rows.tolist(), seen, strict=True)):
            grip = self._asked.grips[number]
            axis, far_mm = (0, self._row.draw_back_mm + self._row.pad_across_mm)
            if grip.kind == "face":
                axis, far_mm = 2, self._row.draw_back_mm
            way = np.array(lying.rotation)[:, axis] * far_mm
            swept = _Seen([solid.corners_mm for solid in pieces], self._asked.pieces).moved(tuple(way.tolist()))
            struck = any(
                swept.near(body, run, self._row.clear_mm, up_mm=nose_mm if body.with_ram else 0.0)[0]
                for body, run in tools
            )
            found[at] = not struck and not self._drawn_into_part(number, share, way)
        return found

    def _drawn_into_part(self, number: int, share: float, way: Floats) -> bool:
        grip = self._asked.grips[number]
        own = machine_frame(self._hit, front=bool(self._front[number]), share=share)
        body = self._asked.grown.placed(own.after(self._in_wing(number)))
        others = Solids(self._solids(self._wing(number), without=grip.face)).placed(own)
        others += self._other_wing(number, share)
        return any(
            slid_into(one, other, (float(way[0]), float(way[1]), float(way[2]))) > SAME_MM
            for one in body
            for other in _in_reach(others, [one.corners_mm, one.corners_mm + way])
        )

    def _placed(self, number: int, share: float) -> tuple[tuple[Solid, ...], Frame]:
        """The pieces of a body in the machine, and its axes there."""
        lying = machine_frame(self._hit, front=bool(self._front[number]), share=share).after(self._in_wing(number))
        return self._asked.bare.placed(lying), lying

    def _other_wing(self, number: int, share: float) -> tuple[Solid, ...]:
        front = not self._front[number]
        wing = self._hit.front if front else self._hit.behind
        return Solids(self._solids(wing)).placed(machine_frame(self._hit, front=bool(front), share=share))

    def _meets_other_wing(self, number: int, share: float) -> bool:
        own = machine_frame(self._hit, front=bool(self._front[number]), share=share)
        return _overlaps(self._asked.grown.placed(own.after(self._in_wing(number))), self._other_wing(number, share))

    def _nose_mm(self, share: float) -> float:
        """Height of the nose over the die's top."""
        stroke = self._hit.stroke
        return -float(stroke.depth_mm(share * stroke.half_turn_deg))

    def _tools(self) -> Iterator[tuple[Body, Run]]:
        """The bodies that stand there, each over each of its stretches of the bed."""
        for tool in standing(self._hit, *self._rows):
            for run in (ENDLESS,) if tool.along_mm is None else tool.along_mm:
                yield tool.body, run

    @property
    def _rows(self) -> tuple[StandingRow, StandingRow]:
        punch, die = self._at.step.punch, self._at.step.die
        return _row_of(punch), StandingRow(die.from_mm, die.row.length_mm)

    def _at_stops(self, bare: _Seen) -> Bools:
        """Whether bodies come to the fingers or to the side stop, where they stand before the hit."""
        found, gauged, fingers = np.zeros(bare.count, dtype=bool), self._at.step.gauged, self._hit.fingers
        if gauged is None or fingers is None:
            return found
        clear_mm = self._row.fingers_clear_mm
        finger = Body("stop", tuple((x - gauged.x_mm, z + gauged.r_mm) for x, z in fingers.gauge.finger_mm), False)
        for at_mm in gauged.z_mm:
            run = (at_mm - fingers.width_mm / 2, at_mm + fingers.width_mm / 2)
            found |= bare.near(finger, run, clear_mm, up_mm=0.0)
        if gauged.side is not None and fingers.side is not None:
            (near, far), (low, high) = fingers.side.front_mm, fingers.side.up_mm
            plate = Body("side stop", ((near, low), (far, low), (far, high), (near, high)), False)
            at_mm, wide_mm = gauged.side.at_mm, fingers.side.wide_mm
            run = (at_mm - wide_mm, at_mm) if gauged.side.side == "left" else (at_mm, at_mm + wide_mm)
            found |= bare.near(plate, run, self._row.clear_mm, up_mm=0.0)
        return found

    # ---- through the stroke

    def _moving(self, rows: Ints) -> Bools:
        """Whether bodies keep clear of tools and of the other wing through the stroke: roughly asked, then exactly."""
        struck = np.zeros(len(rows), dtype=bool)
        met = np.zeros(len(rows), dtype=bool)
        for at, number in enumerate(rows.tolist()):
            frame_in_wing = self._in_wing(number)
            struck[at] = self._struck(number, self._asked.bare.placed(frame_in_wing))
            if not struck[at]:
                grown = self._asked.grown.placed(frame_in_wing)
                others = self._solids(self._hit.behind if self._front[number] else self._hit.front)
                pair = (grown, others) if self._front[number] else (others, grown)
                met[at] = solids_meet(*pair, self._hit.stroke) is not None
        self._blame(rows, struck, "tools")
        self._blame(rows, ~struck & met, "part")
        moved: Bools = ~(struck | met)
        return moved

    def _struck(self, number: int, body: tuple[Solid, ...]) -> bool:
        behind, clear_mm, stroke = not self._front[number], self._row.clear_mm, self._hit.stroke
        seen = _Seen([solid.corners_mm for solid in body], len(body))
        reach_mm = self._asked.shapes.reach_mm + self._asked.shape.reach_mm
        near: list[tuple[Body, Run]] = []
        for own, run in self._tools():
            tool, on_wing = (own.turned() if behind else own), _seen_run(run, self._hit.shift_mm, behind=behind)
            shadows = seen.over(on_wing, clear_mm)
            if len(shadows) and _region(tool, stroke, reach_mm, clear_mm).may_strike(shadows).any():
                near.append((tool, on_wing))
        pieces = [
            prism for tool, run in near for prism in prisms(tool, None if math.isinf(run[0]) else run)
        ]
        return bool(pieces) and least_apart_mm(body, pieces, stroke, below_mm=clear_mm) < clear_mm - SAME_MM


def _row_of(placed: Placed) -> StandingRow:
    return StandingRow(placed.from_mm, placed.row.length_mm, *placed.row.reach_mm)


@lru_cache(maxsize=256)
def _region(body: Body, stroke: Stroke, reach_mm: float, clear_mm: float) -> Region:
    """What one body sweeps as a wing sees it, with what is kept from it."""
    far_mm = REACH_STEP_MM * math.ceil(reach_mm / REACH_STEP_MM)
    return Region(swept_region((body,), stroke, reach_mm=far_mm).sweeps, clear_mm)


def _seen_run(run: Run, shift_mm: float, *, behind: bool) -> Run:
    """A stretch of the bed on a wing's first axis."""
    low, high = run
    return (low - shift_mm, high - shift_mm) if behind else (shift_mm - high, shift_mm - low)


def machine_frame(hit: Hit, *, front: bool, share: float) -> Frame:
    """From a wing's frame to the machine at a share of the stroke: x to the right along the bed, y to the back, z up."""
    stroke = hit.stroke
    half_deg = share * stroke.half_turn_deg
    out_mm, up_mm = (float(each) for each in stroke.edge_mm(half_deg))
    cos, sin = math.cos(math.radians(half_deg)), math.sin(math.radians(half_deg))
    side = -1.0 if front else 1.0
    # A wing's second axis runs outward: in front toward the operator, its first from right to left.
    rotation = np.array([[side, 0.0, 0.0], [0.0, side * cos, -side * sin], [0.0, sin, cos]])
    return as_frame(rotation, np.array([hit.shift_mm, side * out_mm, up_mm]))


def _overlaps(body: Sequence[Solid], others: Sequence[Solid]) -> bool:
    return any(
        at_rest(one, other) > SAME_MM for one in body for other in _in_reach(others, [one.corners_mm])
    )


def _in_reach(others: Sequence[Solid], corners: Sequence[Floats]) -> Iterator[Solid]:
    """Those whose boxes overlap the one round all of some corners."""
    own = np.concatenate(corners)
    low, high = own.min(axis=0), own.max(axis=0)
    for other in others:
        if (other.corners_mm.min(axis=0) < high).all() and (other.corners_mm.max(axis=0) > low).all():
            yield other


class _Seen:
    """Pieces of bodies seen along the bed: outlines in (toward the operator, up), each with its stretch of the bed."""

    def __init__(self, corners: Sequence[Floats], each: int) -> None:
        """`each`: so many pieces to a body."""
        self._corners, self._each = list(corners), each
        self.count = len(self._corners) // each
        self._runs = np.array([(own[:, 0].min(), own[:, 0].max()) for own in self._corners])

    def moved(self, way_mm: tuple[float, ...]) -> _Seen:
        """What they sweep on a straight way."""
        return _Seen([np.concatenate([own, own + np.array(way_mm)]) for own in self._corners], self._each)

    def over(self, run: Run, clear_mm: float) -> Geometries:
        """Of a wing's own pieces the outlines over a stretch, as the wing has them: outward, up."""
        low, high = run
        some = [
            own[:, 1:]
            for own, (left, right) in zip(self._corners, self._runs.tolist(), strict=True)
            if left < high + clear_mm and right > low - clear_mm
        ]
        return _hulls(some)

    def near(self, body: Body, run: Run, clear_mm: float, *, up_mm: float) -> Bools:
        """Which bodies come nearer to one that stands over a stretch than is to be kept; it is moved up by so much."""
        low, high = run
        over = (self._runs[:, 0] < high + clear_mm - SAME_MM) & (self._runs[:, 1] > low - clear_mm + SAME_MM)
        found = np.zeros(len(self._corners), dtype=bool)
        if over.any():
            shapes = _hulls([self._corners[at][:, 1:] * (-1.0, 1.0) - (0.0, up_mm) for at in np.flatnonzero(over)])
            found[over] = shapely.dwithin(tool_shape(body), shapes, clear_mm - SAME_MM)
        any_of: Bools = found.reshape(-1, self._each).any(axis=1)
        return any_of


def _hulls(corners: Sequence[Floats]) -> Geometries:
    if not corners:
        return np.zeros(0, dtype=object)
    owners = np.repeat(np.arange(len(corners)), [len(each) for each in corners])
    hulls: Geometries = shapely.convex_hull(shapely.multipoints(np.concatenate(corners), indices=owners))
    return hulls
