"""The whole plan of a panel walked through, hit by hit, in space; each difference from what it says is a finding."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from flangewise.findings import Finding, place, refuse, sorted_findings
from flangewise.records import dataclass
from flangewise.replay.bodies import Bodies
from flangewise.replay.panel_fold import Array, Lying, PanelNumbers, Wings, ZoneNumbers, along_bed, wings_of
from flangewise.replay.panel_hit import COARSE_MM, PRE_BENT_DEG, PanelHit
from flangewise.replay.panel_plan import PanelMoveTold, PanelPlanStep, read_panel_steps
from flangewise.replay.panel_press import Pressing
from flangewise.replay.panel_step import Stepping
from flangewise.replay.panel_stops import SidePlate, met, side_findings, stop_findings
from flangewise.replay.panel_stroke import (
    Ears,
    Moving,
    Standing,
    meets_itself,
    rising,
    standing,
    standing_beside,
    strikes,
)
from flangewise.replay.panel_ways import WaysOut
from flangewise.replay.stroke import Vee
from flangewise.words import phrase

# The finished angle in the plan is the drawing's, but for rounding; depth and angle belong together within the second.
ANGLE_DEG, DEPTH_DEG, TOUCH_MM, MOST_TURN_DEG = 0.15, 3.0, 0.2, 175.0
# Rows may stand this far from where the plan has them on the bed, and lack so much more than it says.
ROW_MM, SHORT_MM = 0.5, 0.1
# Two ways of lying differ by more than this, in the cosine of an angle.
ALIKE = 1e-3


@dataclass(frozen=True)
class PanelMachine:
    """What a panel can meet: the bodies of a shop on a machine, how wide its fingers are, the ears of each punch.

    `side`: the machine's side stop, None where it has none.
    """

    bodies: Bodies
    finger_width_mm: float
    ears: Mapping[str, Ears]
    side: SidePlate | None = None


def replay_panel(
    panel: PanelNumbers, plan: Mapping[str, Any], machine: PanelMachine, *, file: str = "plan"
) -> tuple[Finding, ...]:
    """Every difference between what a panel's plan says and what stepping through it in space shows.

    Raises Unusable where the plan cannot be read.
    """
    steps = read_panel_steps(plan, file)
    found = list(_order_findings(panel, steps))
    done: frozenset[int] = frozenset()
    known = {zone.bend for zone in panel.zones}
    begun: dict[int, float] = {}
    stands: list[tuple[PanelPlanStep, Array]] = []
    for step in steps:
        bends = tuple(bend for bend in step.bends if bend in known and bend not in done)
        if bends:
            lying = Lying(bends, done, step.marked_up, _parent_is_behind(panel, step, bends))
            hit = PanelHit(panel, lying, wings_of(panel, lying), step, begun.get(bends[0]))
            stands.append((step, _base_stand(hit.wings, lying)))
            told = _step_findings(hit, machine, steps)
            found += [each if each.step is not None else each.at_step(step.step) for each in told]
        hems = {bend for bend in bends if panel.zone(bend).is_hem and bend not in begun and not step.is_pressed}
        begun |= dict.fromkeys(hems, step.turn_deg(step.finished_deg) or PRE_BENT_DEG)
        done |= set(bends) - hems
    for (before, stand), (after, wanted) in pairwise(stands):
        found += _move_findings(before, stand, after, wanted)
    return sorted_findings(found)


def _order_findings(panel: PanelNumbers, steps: Sequence[PanelPlanStep]) -> Iterator[Finding]:
    made = Counter(bend for step in steps for bend in step.bends)
    wanted = {zone.bend: 2 if zone.is_hem else 1 for zone in panel.zones}
    for bend in sorted(made.keys() - wanted.keys()):
        yield refuse("replay-bend-unknown", place("bend", bend), bend=bend)
    for bend, hits in sorted(wanted.items()):
        if made[bend] != hits:
            code = "replay-bend-left-out" if made[bend] < hits else "replay-bend-again"
            yield refuse(code, place("bend", bend), hits=hits, made=made[bend])
        at = [step.step for step in steps if bend in step.bends]
        if hits == 2 and len(at) == 2 and at[1] != at[0] + 1:
            yield refuse("replay-hem-parted", place("bend", bend)).at_step(at[1])


def _parent_is_behind(panel: PanelNumbers, step: PanelPlanStep, bends: Sequence[int]) -> bool:
    return step.behind in {panel.name(panel.zone(bend).face_from) for bend in bends}


def _base_stand(wings: Wings, lying: Lying) -> Array:
    """The rotation from the base on the blank to the bed, as the part lies before the hit."""
    for frames, behind in ((wings.parent, lying.parent_behind), (wings.hung, not lying.parent_behind)):
        if 1 in frames:
            turn = frames[1][:3, :3].copy()
            turn[1] *= 1.0 if behind else -1.0
            return turn
    raise AssertionError("the base lies in neither wing")


def _move_findings(before: PanelPlanStep, stand: Array, after: PanelPlanStep, wanted: Array) -> Iterator[Finding]:
    """That the moves before a hit bring the part to lie as it must; a turn without its angle takes what is lacking."""
    told, open_turn = stand, False
    for move in after.moves:
        if move.move == "turn-over":
            told = (np.diag([-1.0, 1.0, -1.0]) if move.axis.startswith("front") else np.diag([1.0, -1.0, -1.0])) @ told
        elif move.move in ("turn", "turn-in-plane"):
            open_turn = open_turn or move.angle_deg is None
            angle = math.radians(move.angle_deg or 0.0)
            cos, sin = math.cos(angle), math.sin(angle)
            told = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]) @ told
        elif move.move == "tilt":
            told = _tilted(move) @ told
        elif move.move not in ("regrip", "shift", "side-exit", "tool-change"):
            return
    lacking = wanted @ told.T
    # Where one turn is told without its angle any turn in the plane may be what is lacking.
    alike = bool((lacking[2, 2] if open_turn else (np.trace(lacking) - 1.0) / 2.0) > 1.0 - ALIKE)
    if not alike:
        yield refuse("replay-panel-moves", place("step", after.step), behind=after.behind).at_step(after.step)


def _tilted(move: PanelMoveTold) -> Array:
    """A tilt as a rotation: what lies to the right of its axis, looked along it, rises."""
    named_deg = 90.0 if move.axis.startswith("front") else 0.0
    towards, angle = (math.radians(each) for each in (move.axis_deg or named_deg, move.angle_deg or 0.0))
    along = np.array([math.cos(towards), math.sin(towards), 0.0])
    right = np.array([along[1], -along[0], 0.0])
    up = np.array([0.0, 0.0, 1.0])
    # What looked to the right looks up with it, what looked up looks to the left.
    turned = math.cos(angle) * right + math.sin(angle) * up, math.cos(angle) * up - math.sin(angle) * right
    tilted: Array = np.outer(along, along) + np.outer(turned[0], right) + np.outer(turned[1], up)
    return tilted


def _step_findings(hit: PanelHit, machine: PanelMachine, steps: Sequence[PanelPlanStep]) -> Iterator[Finding]:
    panel, lying, step, bodies = hit.panel, hit.lying, hit.step, machine.bodies
    tools = ((step.punch, bodies.punches), (step.die, bodies.dies))
    unknown = [name for name, known in tools if name not in known]
    for name in unknown:
        yield refuse("replay-tool-unknown", place("step", step.step), tool=name)
    first = panel.zone(lying.bends[0])
    names = {panel.name(face) for bend in lying.bends for face in _faces(panel, bend)}
    if step.behind not in names:
        told = ", ".join(sorted(names))
        yield refuse("replay-behind", place("step", step.step), behind=step.behind, faces=told)
        return
    if not hit.is_right_way_up:
        wanted = phrase("replay.face-down" if step.marked_up else "replay.face-up")
        yield refuse("replay-face", place("bend", first.bend), face=wanted)
        return
    if unknown:
        return
    stack = bodies.stack(step.punch, step.die, turned=step.punch_turned)
    if stack.kind != ("offset" if hit.is_offset else "flat" if hit.is_pressed else "vee"):
        yield refuse("replay-tool-kind", place("step", step.step), punch=step.punch, die=step.die, bend=first.bend)
        return
    stroke = hit.stroke(Vee(stack.opening_mm, stack.shoulder_radius_mm))
    if isinstance(stroke, Moving):
        yield from _angle_findings(stroke, step, first)
    yield from _row_findings(panel, lying, step)
    own = standing(stack, step.punch_row, step.die_row, machine.ears.get(step.punch))
    bodies_here = (*own, *_other_stations(step, steps, machine))
    through = {float(turn): [stroke.nose_up_mm(float(turn))] for turn in stroke.turns_deg}
    for strike in strikes(stroke, hit.by_side, bodies_here, through):
        yield met(panel, step, strike, "replay-panel-meets")
    finished_deg = _finished_deg(step, stroke) if isinstance(stroke, Moving) else float(stroke.turns_deg[-1])
    if step.open_height_mm is not None:
        yield from _up_and_down(hit, stroke, bodies_here, finished_deg)
        yield from _way_findings(hit, stroke, bodies_here, finished_deg)
    if not isinstance(stroke, Pressing):
        yield from stop_findings(hit, stroke, machine.bodies.finger, machine.finger_width_mm)
        yield from side_findings(hit, stroke, machine.side)
    itself = meets_itself(panel, stroke, hit.wings, hit.clouds(COARSE_MM), hit.sides)
    if itself is not None:
        names_met = {"one": panel.name(itself[0]), "other": panel.name(itself[1])}
        yield refuse("replay-panel-itself", place("bend", first.bend), turn_deg=itself[2], **names_met)


def _other_stations(step: PanelPlanStep, steps: Sequence[PanelPlanStep], machine: PanelMachine) -> Iterator[Standing]:
    """The rows that stand beside a hit's own, from the left end of its line."""
    bodies = machine.bodies
    if step.part_from_mm is None:
        return
    beside = {
        (each.punch, each.die, each.punch_turned, each.on_bed)
        for each in steps
        if each.set_up == step.set_up and each.bed_from_mm != step.bed_from_mm
        if each.punch in bodies.punches and each.die in bodies.dies
    }
    for punch, die, turned, rows in beside:
        stack = bodies.stack(punch, die, turned=turned)
        punch_row, die_row = (row.moved(-step.part_from_mm) for row in rows)
        yield from standing_beside(stack, punch_row, die_row, machine.ears.get(punch))


def _up_and_down(
    hit: PanelHit, stroke: Moving | Pressing | Stepping, bodies: Sequence[Standing], finished_deg: float
) -> Iterator[Finding]:
    """What the punch meets on its way down to a part that it leaves lying, and up again.

    A part that does not leave so is not brought in so either, and no plan says how.
    """
    assert hit.step.open_height_mm is not None
    if hit.step.leaves != "up":
        return
    for code, turn_deg in (("load", float(stroke.turns_deg[0])), ("unload", finished_deg)):
        noses = rising(stroke.nose_up_mm(turn_deg), hit.step.open_height_mm).tolist()
        with_ram = [body for body in bodies if body.with_ram]
        for strike in strikes(stroke, hit.by_side, with_ram, {turn_deg: noses}):
            yield met(hit.panel, hit.step, strike, f"replay-panel-{code}")


def _way_findings(
    hit: PanelHit, stroke: Moving | Pressing | Stepping, bodies: Sequence[Standing], finished_deg: float
) -> Iterator[Finding]:
    """That the part comes out as the plan says; a plan that says nothing of it is asked nothing."""
    step = hit.step
    assert step.open_height_mm is not None
    if step.leaves == "turned":
        if step.out_turned_deg is None or hit.turned_out(bodies, finished_deg).passes(step.out_turned_deg):
            return
    elif step.leaves in ("up", "front"):
        sides = hit.finished(COARSE_MM)
        points = np.vstack([stroke.placed(sides[kind], finished_deg, side) for kind, side in hit.sides.items()])
        ways = WaysOut(points, bodies, stroke.nose_up_mm(finished_deg), step.open_height_mm)
        goes = ways.along_the_bed if step.is_slid else ways.to_the_front
        if goes(with_punch=False) or (step.leaves == "front" and goes(with_punch=True)):
            return
    else:
        return
    way = "turned" if step.leaves == "turned" else "slid" if step.is_slid else "front"
    yield refuse("replay-panel-stuck", place("step", step.step), way=phrase(f"replay.way-{way}")).at_step(step.step)


def _faces(panel: PanelNumbers, bend: int) -> tuple[int, int]:
    zone = panel.zone(bend)
    return zone.face_from, zone.face_to


def _finished_deg(step: PanelPlanStep, moving: Moving) -> float:
    told_deg = step.turn_deg(step.finished_deg)
    return moving.loaded_deg if told_deg is None else min(told_deg, moving.loaded_deg)


def _angle_findings(moving: Moving, step: PanelPlanStep, zone: ZoneNumbers) -> Iterator[Finding]:
    """The finished angle is the part's, the loaded one is not wider, and the depth goes with it.

    Of a hem that is begun neither the angle nor the radius is the part's.
    """
    where, told, wanted_deg = place("bend", step.bends[0]), step.turn_deg(step.finished_deg), abs(zone.turn_deg)
    if told is not None and abs(told - wanted_deg) > ANGLE_DEG and not zone.is_hem:
        yield refuse("replay-angle", where, told_deg=180.0 - told, wanted_deg=180.0 - wanted_deg)
    if told is not None and moving.loaded_deg < told - ANGLE_DEG:
        yield refuse("replay-springback", where, loaded_deg=180.0 - moving.loaded_deg, finished_deg=180.0 - told)
    if step.depth_mm is None or zone.is_hem:
        return
    turns = np.clip(moving.loaded_deg + np.array([-DEPTH_DEG, 0.0, DEPTH_DEG]), 0.0, MOST_TURN_DEG)
    least, due, most = moving.vee.depth_mm(turns, radius_mm=moving.radius_mm, thickness_mm=moving.thickness_mm)
    if not least - (TOUCH_MM if turns[0] <= 0 else 0.0) <= step.depth_mm <= most:
        values = {"depth_mm": step.depth_mm, "wanted_mm": float(due), "loaded_deg": 180.0 - moving.loaded_deg}
        yield refuse("replay-depth", where, **values)


def _row_findings(panel: PanelNumbers, lying: Lying, step: PanelPlanStep) -> Iterator[Finding]:
    """That the rows stand where the plan has them on the bed, and leave no more of the line uncovered than it says."""
    where, row = place("step", step.step), step.punch_row
    if step.part_from_mm is not None and abs(step.part_from_mm + row.from_mm - step.bed_from_mm) > ROW_MM:
        yield refuse("replay-row-elsewhere", where, row_mm=step.bed_from_mm - step.part_from_mm, told_mm=row.from_mm)
    bends = _bends_mm(panel, lying)
    long_mm = bends[-1][1]
    short_mm = max(0.0, *(max(each.from_mm, long_mm - each.to_mm) for each in (row, step.die_row)))
    gap_mm = 0.0
    for each in (row, step.die_row):
        if each.made_mm is not None and abs(each.made_mm - each.length_mm) > ROW_MM:
            yield refuse("replay-row-length", where, made_mm=each.made_mm, told_mm=each.length_mm)
        for (_, from_mm), (to_mm, _) in pairwise(each.blocks_mm):
            for low, high in bends:
                left_mm = min(to_mm, high) - max(from_mm, low)
                if from_mm > low and to_mm < high:
                    gap_mm = max(gap_mm, left_mm)
                else:
                    short_mm = max(short_mm, left_mm)
    if step.short_mm is not None and short_mm > step.short_mm + SHORT_MM:
        yield refuse("replay-row-short", where, short_mm=short_mm, told_mm=step.short_mm)
    if gap_mm > (step.gap_mm or 0.0) + SHORT_MM:
        yield refuse("replay-row-gap", where, gap_mm=gap_mm, told_mm=step.gap_mm or 0.0)


def _bends_mm(panel: PanelNumbers, lying: Lying) -> list[tuple[float, float]]:
    """The bends of a hit along the bed, as the operator sees them, from the left end of the leftmost."""
    zones = [panel.zone(bend) for bend in lying.bends]
    dx, dy = along_bed(zones[0], lying)
    along = sorted(sorted(x * dx + y * dy for x, y in zone.line_mm) for zone in zones)
    return [(begin - along[0][0], end - along[0][0]) for begin, end in along]
