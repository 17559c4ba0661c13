"""One hit of a panel asked for all grips of a gripper, in space: the part, the machine at rest, the stroke.

As of a section: held on a wing the gripper is a part of it. Tools stand where their rows do, ears with their feet;
what stands along a stretch of the bed meets what of the body lies over that stretch, seen along the bed. A piece of the
body counts as its whole outline over all of its stretch, so that nothing is missed where it lies askew.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import (
    Body,
    Solid,
    least_apart_mm,
    prisms,
    slid_into,
    solids_meet,
)
from flangewise.geometry import Frame
from flangewise.handling.gripper import SAME_MM
from flangewise.handling.panel_bodies import (
    SHARES,
    Bools,
    Floats,
    Run,
    SeenBodies,
    in_reach,
    machine_frame,
    nose_mm,
    overlaps,
    placed,
    region_of,
    seen_run,
)
from flangewise.handling.panel_pressed_grips import pressed_clear
from flangewise.handling.panel_rules import AtHit, PanelInHand, broken_rule, tools_of
from flangewise.handling.step_grips import FAR_MM, Against, StepGrips
from flangewise.panel_order import Wing

Ints = NDArray[np.int64]


def panel_grips_at(asked: PanelInHand, at: AtHit, strong: tuple[Bools, Bools]) -> StepGrips:
    """Which grips hold at a hit; `strong`: which the gripper holds and which the arm carries, before it and after."""
    return _PanelStep(asked, at).answer(*strong)


def panel_grips_that_may(asked: PanelInHand, at: AtHit, strong: tuple[Bools, Bools]) -> Bools:
    """Which grips the rules of the part allow at a hit, and are strong enough; tools are not asked."""
    return _PanelStep(asked, at).allowed() & strong[0] & strong[1]


class _PanelStep:
    """One hit being asked. In its own frame x runs along the bed to the right, y to the back, z up."""

    def __init__(self, asked: PanelInHand, at: AtHit) -> None:
        self._asked, self._at, self._hit = asked, at, at.hit
        self._row, self._t = asked.shape.row, asked.thickness_mm
        self._against: list[Against | None] = [None] * len(asked.grips)
        self._kept: dict[tuple[Wing, int | None], tuple[Solid, ...]] = {}
        self._frames: dict[tuple[bool, float], Frame] = {}
        self._in_wings: dict[int, Frame] = {}
        self._wings: dict[tuple[bool, float], tuple[Solid, ...]] = {}
        self._front = np.array([grip.face in self._hit.front.branches for grip in asked.grips], dtype=bool)

    def answer(self, holds: Bools, carries: Bools) -> StepGrips:
        """All grips, from the rules that are soonest asked to the stroke."""
        grips, single = self._asked.grips, self._hit.tools.kind == "swing" and self._at.then is None
        own = self.allowed()
        for bad, why in ((~carries, "payload"), (~holds, "force")):
            self._blame(np.arange(len(grips)), own & bad, why)  # type: ignore[arg-type]
            own &= ~bad
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
                moved[moved] = (self._moving if self._hit.tools.kind == "swing" else self._sliding)(rows[moved])
            if self._at.then is not None:
                moved &= self._pressed(rows)
                ended = moved
            load[rows], out[rows], through[rows] = begun, ended, moved
            away[rows], near[rows] = begun_away, ended_near
        against = tuple(None if through[i] else self._against[i] or "tools" for i in range(len(grips)))
        return StepGrips(load, through, out, away & load, near & out, single, against, (None,) * len(grips))

    def allowed(self) -> Bools:
        """Which grips the rules of the part allow; those whose arms lie alike on a face are turned alike."""
        seen: dict[object, Frame] = {}
        for number, grip in enumerate(self._asked.grips):
            alike = (grip.face, grip.arm, grip.marked)
            if alike not in seen:
                seen[alike] = self._lying(number, 0.0)
            self._against[number] = broken_rule(
                self._asked, self._at, number, seen[alike], front=bool(self._front[number])
            )
        return np.array([each is None for each in self._against], dtype=bool)

    def _blame(self, rows: Ints, bad: Bools, why: Against) -> None:
        for row in rows[bad].tolist():
            if self._against[row] is None:
                self._against[row] = why

    # ---- rules of the part alone

    def _wing(self, number: int) -> Wing:
        return self._hit.front if self._front[number] else self._hit.behind

    def _in_wing(self, number: int) -> Frame:
        """A grip's axes in the frame of its wing before the hit."""
        if number not in self._in_wings:
            grip, wing = self._asked.grips[number], self._wing(number)
            stand = wing.frame(grip.face, wing.branches[grip.face].state(self._at.done))
            self._in_wings[number] = stand.after(grip.stands_on(self._t))
        return self._in_wings[number]

    def _in_machine(self, front: bool, share: float) -> Frame:
        """From a wing's frame to the machine."""
        if (front, share) not in self._frames:
            self._frames[front, share] = machine_frame(self._hit, front=front, share=share)
        return self._frames[front, share]

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
            found[at] = overlaps(self._asked.grown.placed(self._in_wing(number)), others)
        self._blame(rows, found, "part")
        return found

    # ---- the machine at rest

    def _still(self, rows: Ints, share: float) -> tuple[Bools, Bools]:
        """At the beginning or the end of the stroke: whether bodies keep clear, the ram goes up past them and they go
        out from there, and whether they can be drawn off."""
        seen = [self._placed(number, share) for number in rows.tolist()]
        bare = SeenBodies([solid.corners_mm for pieces, _ in seen for solid in pieces], self._asked.pieces)
        tools = list(tools_of(self._at))
        at_mm, clear_mm = nose_mm(self._hit, share), self._row.clear_mm
        met = np.zeros(len(rows), dtype=bool)
        for body, run in tools:
            met |= bare.near(body, run, clear_mm, up_mm=at_mm if body.with_ram else 0.0)
        self._blame(rows, met, "tools")
        at_stops = self._at_stops(bare) if share == 0.0 else np.zeros(len(rows), dtype=bool)
        self._blame(rows, ~met & at_stops, "stops")
        near_part = np.array([self._meets_other_wing(number, share) for number in rows.tolist()], dtype=bool)
        self._blame(rows, ~met & ~at_stops & near_part, "part")
        good = ~(met | at_stops | near_part)
        blocked = self._passed_by_the_ram(bare, tools, at_mm) | self._shut_in(bare, tools, share)
        turned_out = share == 1.0 and self._at.step.leaving is not None and self._at.step.leaving.way == "turned"
        self._blame(rows, good & blocked, "tools")
        good &= ~blocked
        if turned_out:
            # What the arm does while the part is turned under the punch is not looked at.
            self._blame(rows, good, "way-out")
            good &= False
        if self._row.release_s is None and self._row.regrip_in_tools_s is None:
            return good, good
        return good, self._drawn(rows, seen, tools, share, good)

    def _passed_by_the_ram(self, bare: SeenBodies, tools: Sequence[tuple[Body, Run]], at_mm: float) -> Bools:
        """Whether bodies come too near to what goes up with the ram until it is open."""
        found = np.zeros(bare.count, dtype=bool)
        up = max(self._at.opening_mm - at_mm, 0.0)
        for body, run in tools:
            if body.with_ram:
                # A body going up past the gripper is the gripper going down past the body.
                found |= bare.moved((0.0, 0.0, -up)).near(body, run, self._row.clear_mm, up_mm=at_mm)
        return found

    def _shut_in(self, bare: SeenBodies, tools: Sequence[tuple[Body, Run]], share: float) -> Bools:
        """Whether bodies do not come in from the front under the open ram, or out the way that the part goes."""
        leaving, found, open_mm = self._at.step.leaving, list[Bools](), self._at.opening_mm
        out, along = (0.0, -FAR_MM, 0.0), [(-FAR_MM, 0.0, 0.0), (FAR_MM, 0.0, 0.0)]
        ways = along if share == 1.0 and leaving is not None and leaving.along_bed else [out]
        if self._at.whatever_rows:
            ways, open_mm = [out, *along] if share == 1.0 else [out], FAR_MM
        for way in ways:
            swept, shut = bare.moved(way), np.zeros(bare.count, dtype=bool)
            for body, run in tools:
                shut |= swept.near(body, run, self._row.clear_mm, up_mm=open_mm if body.with_ram else 0.0)
            found.append(shut)
        every: Bools = np.logical_and.reduce(found)
        return every

    def _drawn(
        self,
        rows: Ints,
        seen: Sequence[tuple[tuple[Solid, ...], Frame]],
        tools: Sequence[tuple[Body, Run]],
        share: float,
        may: Bools,
    ) -> Bools:
        """Whether the gripper, open, is drawn off the sheet that the tools hold: along its arm, or off a face."""
        ways = np.array([self._drawn_mm(number, lying) for number, (_, lying) in zip(rows.tolist(), seen, strict=True)])
        pieces = [solid.corners_mm for pieces, _ in seen for solid in pieces]
        swept, struck = SeenBodies(pieces, self._asked.pieces).moved_each(ways), np.zeros(len(rows), dtype=bool)
        at_mm = nose_mm(self._hit, share)
        for body, run in tools:
            struck |= swept.near(body, run, self._row.clear_mm, up_mm=at_mm if body.with_ram else 0.0)
        for at in np.flatnonzero(may & ~struck).tolist():
            struck[at] = self._drawn_into_part(int(rows[at]), share, ways[at])
        return may & ~struck

    def _drawn_mm(self, number: int, lying: Frame) -> Floats:
        """The way that a gripper is drawn."""
        axis, far_mm = (0, self._row.draw_back_mm + self._row.pad_across_mm)
        if self._asked.grips[number].kind == "face":
            axis, far_mm = 2, self._row.draw_back_mm
        way: Floats = np.array(lying.rotation)[:, axis] * far_mm
        return way

    def _drawn_into_part(self, number: int, share: float, way: Floats) -> bool:
        grip = self._asked.grips[number]
        own = self._in_machine(bool(self._front[number]), share)
        body = self._asked.grown.placed(own.after(self._in_wing(number)))
        others = placed(self._solids(self._wing(number), without=grip.face), own)
        others += self._other_wing(number, share)
        return any(
            slid_into(one, other, (float(way[0]), float(way[1]), float(way[2]))) > SAME_MM
            for one in body
            for other in in_reach(others, [one.corners_mm, one.corners_mm + way])
        )

    def _placed(self, number: int, share: float) -> tuple[tuple[Solid, ...], Frame]:
        """The pieces of a body in the machine, and its axes there."""
        lying = self._lying(number, share)
        return self._asked.bare.placed(lying), lying

    def _lying(self, number: int, share: float) -> Frame:
        """A grip's axes in the machine."""
        return self._in_machine(bool(self._front[number]), share).after(self._in_wing(number))

    def _other_wing(self, number: int, share: float) -> tuple[Solid, ...]:
        front = not self._front[number]
        if (front, share) not in self._wings:
            wing = self._hit.front if front else self._hit.behind
            self._wings[front, share] = placed(self._solids(wing), self._in_machine(front, share))
        return self._wings[front, share]

    def _meets_other_wing(self, number: int, share: float) -> bool:
        own = self._in_machine(bool(self._front[number]), share)
        return overlaps(self._asked.grown.placed(own.after(self._in_wing(number))), self._other_wing(number, share))

    def _at_stops(self, bare: SeenBodies) -> Bools:
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

    def _sliding(self, rows: Ints) -> Bools:
        """The same of an offset, whose wings go straight to their lands: looked at moment by moment."""
        found = np.ones(len(rows), dtype=bool)
        first, last = (machine_frame(self._hit, front=True, share=share) for share in (0.0, 1.0))
        nose = abs(nose_mm(self._hit, 1.0) - nose_mm(self._hit, 0.0))
        step_mm = (math.dist(first.origin_mm, last.origin_mm) + nose) / SHARES
        for share in np.linspace(0.0, 1.0, SHARES + 1).tolist():
            seen = SeenBodies(
                [solid.corners_mm for number in rows.tolist() for solid in self._placed(number, share)[0]],
                self._asked.pieces,
            )
            for body, run in tools_of(self._at):
                up_mm = nose_mm(self._hit, share) if body.with_ram else 0.0
                found &= ~seen.near(body, run, self._row.clear_mm + step_mm, up_mm=up_mm)
            found &= np.array([not self._meets_other_wing(number, share) for number in rows.tolist()], dtype=bool)
        self._blame(rows, ~found, "tools")
        return found

    def _pressed(self, rows: Ints) -> Bools:
        """Whether bodies keep clear while the hem just bent is flattened."""
        assert self._at.then is not None
        grips = [(self._asked.grips[number].face, self._in_wing(number)) for number in rows.tolist()]
        found = pressed_clear(self._asked, self._at.then, grips)
        self._blame(rows, ~found, "pressed")
        return found

    def _struck(self, number: int, body: tuple[Solid, ...]) -> bool:
        behind, clear_mm, stroke = not self._front[number], self._row.clear_mm, self._hit.stroke
        seen = SeenBodies([solid.corners_mm for solid in body], len(body))
        reach_mm = self._asked.shapes.reach_mm + self._asked.shape.reach_mm
        near: list[tuple[Body, Run]] = []
        for own, run in tools_of(self._at):
            tool, on_wing = (own.turned() if behind else own), seen_run(run, self._hit.shift_mm, behind=behind)
            shadows = seen.over(on_wing, clear_mm)
            if len(shadows) and region_of(tool, stroke, reach_mm, clear_mm).may_strike(shadows).any():
                near.append((tool, on_wing))
        pieces = [prism for tool, run in near for prism in prisms(tool, None if math.isinf(run[0]) else run)]
        return bool(pieces) and least_apart_mm(body, pieces, stroke, below_mm=clear_mm) < clear_mm - SAME_MM
