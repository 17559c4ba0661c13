"""One step of a plan stepped through: stop, stroke, way in and way out, each difference a finding."""

import numpy as np

from flangewise.findings import Finding, place, refuse
from flangewise.replay.angles import angle_findings, leg_findings, wrong_way
from flangewise.replay.bodies import Corners, Solid
from flangewise.replay.fold import Rings
from flangewise.replay.hit import ReplayHit
from flangewise.replay.meets import (
    CONTACT_MM,
    Obstacle,
    Strike,
    crosses_itself,
    obstacles,
    struck,
)
from flangewise.replay.plan import PlanStep
from flangewise.replay.stops import StopContact, contact
from flangewise.replay.stroke import Moments
from flangewise.replay.way_out import way_out
from flangewise.words import Phrase, phrase

# A stop may stand this far from where the part is: what a plan's rounding to the machine's step may do.
STOP_MM = 0.1
# A part may push its stop this far while it is bent: the sheet's middle grows by some hundredths, and a stop gives.
PUSH_MM = 0.15
# An offset is pressed between lands all round: how the radii come out there is known no closer than this.
PRESSED_MM = 0.15
RAM_STEP_MM = 0.5


def step_findings(hit: ReplayHit, step: PlanStep, finger_mm: Corners | None) -> tuple[Finding, ...]:
    """What stepping through one hit finds. A hit that would bend the wrong way is told and not stepped through."""
    backward = wrong_way(hit, step)
    if backward is not None:
        return (backward.at_step(step.step),)
    touch = _touch(hit, step, finger_mm)
    moments = _placed(hit, touch)
    tools = obstacles(hit.stack.solids, contact_mm=PRESSED_MM if hit.kind == "offset" else CONTACT_MM)
    found = [
        *angle_findings(hit, step),
        *leg_findings(hit),
        *_stop_findings(hit, step, touch),
        *_strike_findings(hit, step, _pieces(hit, moments), bodies=(*tools, *_finger(step, finger_mm))),
        *_self_findings(hit),
        *_way_findings(hit, step, moments, tools),
    ]
    return tuple(finding if finding.step is not None else finding.at_step(step.step) for finding in found)


def _touch(hit: ReplayHit, step: PlanStep, finger_mm: Corners | None) -> StopContact | None:
    """Where the part as it lies before the hit meets the stop; None where plan or machine tell no stop."""
    if finger_mm is None or step.stop_mm is None:
        return None
    x_mm, r_mm = step.stop_mm
    return contact(hit.at_turn(0.0).rings, finger_mm, x_mm=x_mm, r_mm=r_mm)


def _placed(hit: ReplayHit, touch: StopContact | None) -> Moments:
    """The stroke; a hem pressed flat has no line under a nose, so there it is the stop that places the part."""
    moments = hit.moments()
    if hit.kind != "flatten" or touch is None or not np.isfinite(touch.gap_mm):
        return moments
    return Moments(moments.rings.moved(across_mm=-touch.gap_mm), moments.turns_deg, moments.nose_up_mm)


def _stop_findings(hit: ReplayHit, step: PlanStep, touch: StopContact | None) -> list[Finding]:
    if touch is None or step.stop_mm is None:
        return []
    where, (x_mm, r_mm) = place("step", step.step), step.stop_mm
    if not np.isfinite(touch.gap_mm):
        return [refuse("replay-stop-misses", where, x_mm=x_mm, r_mm=r_mm)]
    found = []
    if hit.kind != "flatten" and abs(touch.gap_mm) > STOP_MM:
        found.append(refuse("replay-stop-off", where, x_mm=x_mm, wanted_mm=x_mm - touch.gap_mm))
    if not touch.labels & _wanted_labels(hit, step):
        found.append(refuse("replay-stop-elsewhere", where, leg=_leg_of(hit, min(touch.labels))))
    return found


def _wanted_labels(hit: ReplayHit, step: PlanStep) -> set[int]:
    """What the plan says the stop touches: the rear edge's flat, or the flat beyond the bend gauged on.

    A hem at the rear edge is itself what the stop meets.
    """
    if step.gauged_on != "flange":
        return {0, -1} if abs(hit.view.turns_deg[0]) > 90 else {0}
    zones = [hit.view.place_of(zone) for zone in hit.zones_of.get(step.gauged_bend or 0, ())]
    return {*zones, *(-1 - zone for zone in zones if abs(hit.view.turns_deg[zone]) > 90)}


def _leg_of(hit: ReplayHit, label: int) -> int:
    """The user's number of the leg a label belongs to (a bend zone counts to the leg behind it)."""
    return hit.view.leg_of(label if label >= 0 else -1 - label)


def _pieces(hit: ReplayHit, moments: Moments) -> tuple[Moments, ...]:
    """What is tested through the stroke: the part where the stop has placed it, an offset by its legs."""
    return hit.pieces() if hit.kind == "offset" else (moments,)


def _strike_findings(
    hit: ReplayHit, step: PlanStep, pieces: tuple[Moments, ...], *, bodies: tuple[Obstacle, ...]
) -> list[Finding]:
    """The whole part against every body all through the stroke."""
    return [_meets(hit, step, strike, piece) for piece in pieces for strike in struck(piece, bodies)]


def _meets(hit: ReplayHit, step: PlanStep, strike: Strike, moments: Moments) -> Finding:
    turn_deg = float(moments.turns_deg[strike.moment])
    where = place("bend", hit.bend.number)
    said = refuse("replay-meets", where, body=_body(strike.body), turn_deg=turn_deg, overlap_mm=strike.overlap_mm)
    return said.at_step(step.step, bodies=("part", strike.body), overlap_mm=strike.overlap_mm)


def _body(name: str) -> Phrase:
    return phrase(f"replay.{name}")


def _finger(step: PlanStep, finger_mm: Corners | None) -> tuple[Obstacle, ...]:
    if finger_mm is None or step.stop_mm is None:
        return ()
    behind_mm, r_mm = step.stop_mm[0] + (step.number("retract_mm") or 0.0), step.stop_mm[1]
    moved = tuple((across - behind_mm, up + r_mm) for across, up in finger_mm)
    return obstacles([Solid("stop", moved, with_ram=False)], contact_mm=PUSH_MM)


def _self_findings(hit: ReplayHit) -> list[Finding]:
    rings = hit.moments(inset_mm=CONTACT_MM).rings if hit.air_bend is not None else None
    moment = crosses_itself(rings) if rings is not None else None
    if moment is None:
        return []
    turn_deg = float(hit.moments().turns_deg[moment])
    return [refuse("replay-itself", place("bend", hit.bend.number), turn_deg=turn_deg)]


def _way_findings(hit: ReplayHit, step: PlanStep, moments: Moments, tools: tuple[Obstacle, ...]) -> list[Finding]:
    """In before the hit and out after it, at the plan's open height."""
    open_mm = step.number("open_height_mm")
    if open_mm is None:
        return []
    found = []
    for code, moment in (("load", moments.at(0)), ("unload", _released(hit, step, moments))):
        if step.leaves_along_bed and code == "unload":
            continue
        touch = float(moment.nose_up_mm[0])
        if not way_out(moment.rings.points_mm[0], tools, touch_mm=touch, open_mm=open_mm):
            ram = _ram_findings(step, moment, tools, code=code)
            found += ram or [refuse(f"replay-{code}", place("step", step.step), open_mm=open_mm)]
    return found


def _released(hit: ReplayHit, step: PlanStep, moments: Moments) -> Moments:
    """The part after the hit, sprung back, still on the die."""
    if hit.air_bend is None:
        return moments.at(-1)
    return hit.at_turn(step.finished_turn_deg if step.finished_turn_deg is not None else hit.air_bend.loaded_deg)


def _ram_findings(step: PlanStep, moment: Moments, tools: tuple[Obstacle, ...], *, code: str) -> list[Finding]:
    """The ram on its way down onto the part, or up from it."""
    touch, top = float(moment.nose_up_mm[0]), step.number("open_height_mm") or 0.0
    heights = np.linspace(touch, max(touch, top), max(2, int(abs(top - touch) / RAM_STEP_MM) + 1))
    still = Rings(np.repeat(moment.rings.points_mm, len(heights), axis=0), moment.rings.labels)
    met = struck(Moments(still, np.zeros(len(heights)), heights), [tool for tool in tools if tool.with_ram])
    return [_ram_meets(step, strike, code) for strike in met]


def _ram_meets(step: PlanStep, strike: Strike, code: str) -> Finding:
    where = place("step", step.step)
    said = refuse(f"replay-ram-{code}", where, body=_body(strike.body), overlap_mm=strike.overlap_mm)
    return said.at_step(step.step, bodies=("part", strike.body), overlap_mm=strike.overlap_mm)
