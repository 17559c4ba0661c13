"""Does the bend go the right way, reach its angle at the plan's depth, and keep its legs on the die."""

from __future__ import annotations

import numpy as np

from flangewise.findings import Finding, place, refuse
from flangewise.replay.fold import Swing
from flangewise.replay.hit import ReplayHit
from flangewise.replay.plan import PlanStep
from flangewise.replay.section import View
from flangewise.replay.stroke import depth_at_mm, reach_mm, shoulder_at_mm, turns_between
from flangewise.words import phrase

# The finished angle in the plan is the drawing's, but for rounding.
ANGLE_DEG = 0.15
# Depth and angle belong together within this: what taking the bend for one circular arc may be off.
DEPTH_DEG = 3.0
# A leg may end this much before the shoulder: rounding of the lengths.
LEG_MM = 0.05


def wrong_way(hit: ReplayHit, step: PlanStep) -> Finding | None:
    """A refusal where the face that is up would bend the sheet the other way."""
    rises = hit.view.full_deg[hit.zones[0]] > 0
    if rises == (hit.stack.turned if hit.kind == "offset" else True):
        return None
    wanted = phrase("replay.face-down" if step.marked_up else "replay.face-up")
    return refuse("replay-face", place("bend", hit.bend.number), face=wanted)


def angle_findings(hit: ReplayHit, step: PlanStep) -> list[Finding]:
    """The finished angle is the section's, the loaded one is not wider, and the depth goes with it."""
    wanted = _finished_turn_deg(hit)
    found = []
    where = place("bend", hit.bend.number)
    told = None if step.finished_deg is None else 180.0 - step.finished_deg
    if told is not None and wanted is not None and abs(told - wanted) > ANGLE_DEG:
        found.append(refuse("replay-angle", where, told_deg=180.0 - told, wanted_deg=180.0 - wanted))
    loaded = step.loaded_turn_deg
    if hit.swing is not None and loaded is not None and told is not None and loaded < told - ANGLE_DEG:
        found.append(refuse("replay-springback", where, loaded_deg=180.0 - loaded, finished_deg=180.0 - told))
    return found + _depth_findings(hit, step)


def _finished_turn_deg(hit: ReplayHit) -> float | None:
    """The turn the drawing wants after this hit; None for a hem's pre-bend, which is the setter's own."""
    if hit.kind == "swing" and hit.bend.kind == "hem":
        return None
    return None if hit.kind == "offset" else abs(hit.view.full_deg[hit.zones[0]])


def _depth_findings(hit: ReplayHit, step: PlanStep) -> list[Finding]:
    swing, depth = hit.swing, step.depth_mm
    if swing is None or depth is None or hit.bend.kind == "hem":
        return []
    reached = turn_at_deg(depth, hit)
    if reached is not None and abs(reached - swing.loaded_deg) <= DEPTH_DEG:
        return []
    where = place("bend", hit.bend.number)
    due = depth_at_mm(swing.loaded_deg, hit.vee, radius_mm=swing.radius_mm, thickness_mm=hit.view.thickness_mm)
    return [refuse("replay-depth", where, depth_mm=depth, wanted_mm=due, loaded_deg=180.0 - swing.loaded_deg)]


def turn_at_deg(depth_mm: float, hit: ReplayHit) -> float | None:
    """The turn under load at a depth, by halving; None where the depth is beyond a right half turn or above touch."""
    swing = hit.swing
    if swing is None:
        return None

    def depth(turn: float) -> float:
        return depth_at_mm(turn, hit.vee, radius_mm=swing.radius_mm, thickness_mm=hit.view.thickness_mm)

    low, high = 0.0, 175.0
    if not depth(low) - 0.2 <= depth_mm <= depth(high):
        return None
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if depth(middle) < depth_mm else (low, middle)
    return low


def leg_findings(hit: ReplayHit) -> list[Finding]:
    """A leg must lie on its shoulder all through the stroke: neither end nor another bend slides into the opening."""
    swing = hit.swing
    if swing is None:
        return []
    turns = turns_between(swing.loaded_deg, reach_mm(hit.view))
    needed = shoulder_at_mm(
        np.radians(turns) / 2, hit.vee, radius_mm=swing.radius_mm, thickness_mm=hit.view.thickness_mm
    )
    rest = hit.view.zones_mm[swing.zone] / 2 * (1 - turns / swing.loaded_deg)
    found = []
    for front in (True, False):
        short = float((needed - rest).max()) - straight_mm(hit.view, swing, front=front)
        if short > LEG_MM:
            leg = _leg(hit.view, swing, front=front)
            found.append(refuse("replay-leg", place("leg", leg), bend=hit.bend.number, short_mm=short))
    return found


def straight_mm(view: View, swing: Swing, *, front: bool) -> float:
    """How far the sheet runs straight from a zone: over flats and unbent zones, up to an edge or a bent zone."""
    count = len(view.zones_mm)
    length = 0.0
    flat = swing.zone + 1 if front else swing.zone
    while True:
        length += view.flats_mm[flat]
        beyond = flat if front else flat - 1
        if not 0 <= beyond < count or view.turns_deg[beyond] != 0:
            return length
        length += view.zones_mm[beyond]
        flat += 1 if front else -1


def _leg(view: View, swing: Swing, *, front: bool) -> int:
    """The user's number of the leg beside the zone: counted from the section's start."""
    flat = swing.zone + 1 if front else swing.zone
    return flat + 1 if view.start_behind else len(view.flats_mm) - flat
