"""Does the bend go the right way, reach its angle at the plan's depth, and keep its legs on the die."""

import numpy as np

from flangewise.findings import Finding, place, refuse
from flangewise.replay.fold import ZoneBend
from flangewise.replay.hit import ReplayHit
from flangewise.replay.plan import PlanStep
from flangewise.replay.section import View
from flangewise.replay.stroke import turns_between
from flangewise.words import phrase

# The finished angle in the plan is the drawing's, but for rounding.
ANGLE_DEG = 0.15
# Depth and angle belong together within this: what taking the bend for one circular arc may be off.
DEPTH_DEG = 3.0
# Before the sheet is touched a depth may be told this much higher, and beyond this turn there is none.
TOUCH_MM, MOST_TURN_DEG = 0.2, 175.0
# A leg may end this much before the shoulder: rounding of the lengths.
LEG_MM = 0.05


def wrong_way(hit: ReplayHit, step: PlanStep) -> Finding | None:
    """A refusal where the face that is up would bend the sheet the other way."""
    rises = hit.view.section.turns_deg[hit.zones[0]] > 0
    if rises == (hit.stack.turned if hit.kind == "offset" else True):
        return None
    wanted = phrase("replay.face-down" if step.marked_up else "replay.face-up")
    return refuse("replay-face", place("bend", hit.bend.number), face=wanted)


def angle_findings(hit: ReplayHit, step: PlanStep) -> list[Finding]:
    """The finished angle is the section's, the loaded one is not wider, and the depth goes with it."""
    wanted = _finished_turn_deg(hit)
    found = []
    where = place("bend", hit.bend.number)
    told = step.finished_turn_deg
    if told is not None and wanted is not None and abs(told - wanted) > ANGLE_DEG:
        found.append(refuse("replay-angle", where, told_deg=180.0 - told, wanted_deg=180.0 - wanted))
    loaded = step.loaded_turn_deg
    if hit.air_bend is not None and loaded is not None and told is not None and loaded < told - ANGLE_DEG:
        found.append(refuse("replay-springback", where, loaded_deg=180.0 - loaded, finished_deg=180.0 - told))
    return found + _depth_findings(hit, step)


def _finished_turn_deg(hit: ReplayHit) -> float | None:
    """The turn the drawing wants after this hit; None for a hem's pre-bend, which is the setter's own."""
    if hit.kind == "air-bend" and hit.bend.kind == "hem":
        return None
    return None if hit.kind == "offset" else abs(hit.view.section.turns_deg[hit.zones[0]])


def _depth_findings(hit: ReplayHit, step: PlanStep) -> list[Finding]:
    """The depth lies between those of a turn a little less and a little more than the one under load."""
    bend, depth_mm = hit.air_bend, step.number("depth_mm")
    if bend is None or depth_mm is None or hit.bend.kind == "hem":
        return []
    turns = bend.loaded_deg + np.array([-DEPTH_DEG, 0.0, DEPTH_DEG])
    least, due, most = hit.vee.depth_mm(
        np.clip(turns, 0.0, MOST_TURN_DEG), radius_mm=bend.radius_mm, thickness_mm=hit.view.section.thickness_mm
    )
    if least - (TOUCH_MM if turns[0] <= 0 else 0.0) <= depth_mm <= most:
        return []
    where = place("bend", hit.bend.number)
    return [refuse("replay-depth", where, depth_mm=depth_mm, wanted_mm=float(due), loaded_deg=180.0 - bend.loaded_deg)]


def leg_findings(hit: ReplayHit) -> list[Finding]:
    """A leg must lie on its shoulder all through the stroke: neither end nor another bend slides into the opening."""
    bend, view = hit.air_bend, hit.view
    if bend is None:
        return []
    turns = turns_between(view, bend.loaded_deg)
    needed = hit.vee.shoulder_mm(
        np.radians(turns) / 2, radius_mm=bend.radius_mm, thickness_mm=view.section.thickness_mm
    )
    rest = view.section.zones_mm[bend.zone] / 2 * (1 - turns / bend.loaded_deg)
    found = []
    for front in (True, False):
        short = float((needed - rest).max()) - straight_mm(view, bend, front=front)
        if short > LEG_MM:
            leg = view.leg_of(bend.zone + 1 if front else bend.zone)
            found.append(refuse("replay-leg", place("leg", leg), bend=hit.bend.number, short_mm=short))
    return found


def straight_mm(view: View, bend: ZoneBend, *, front: bool) -> float:
    """How far the sheet runs straight from a zone: over flats and unbent zones, up to an edge or a bent zone."""
    outward = slice(bend.zone + 1, None) if front else slice(0, bend.zone)
    flats_mm = view.section.flats_mm[bend.zone + 1 :] if front else view.section.flats_mm[bend.zone :: -1]
    zones = list(zip(view.section.zones_mm[outward], view.turns_deg[outward], strict=True))
    length_mm = flats_mm[0]
    for (zone_mm, turn_deg), flat_mm in zip(zones if front else reversed(zones), flats_mm[1:], strict=True):
        if turn_deg != 0:
            break
        length_mm += zone_mm + flat_mm
    return length_mm
