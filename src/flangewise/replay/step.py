"""One step of a plan stepped through: its angle, legs, stop, stroke, way in and way out; each difference a finding."""

from collections.abc import Iterator

import numpy as np

from flangewise.findings import Finding, place, refuse
from flangewise.replay import meets
from flangewise.replay.bodies import Corners, Solid
from flangewise.replay.fold import Rings, View, ZoneBend
from flangewise.replay.plan import PlanStep
from flangewise.replay.stroke import Moments, ReplayHit, turns_between
from flangewise.replay.tilted import is_free
from flangewise.words import Phrase, phrase

# A stop may stand this far from where the part is: what a plan's rounding to the machine's step may do.
STOP_MM = 0.1
# A part may push its stop this far while it is bent: the sheet's middle grows by some hundredths, and a stop gives.
PUSH_MM = 0.15
# An offset is pressed between lands all round: how the radii come out there is known no closer than this.
PRESSED_MM = 0.15
RAM_STEP_MM = 0.5
# The finished angle in the plan is the drawing's, but for rounding.
ANGLE_DEG = 0.15
# Depth and angle belong together within this: what taking the bend for one circular arc may be off.
DEPTH_DEG = 3.0
# Before the sheet is touched a depth may be told this much higher, and beyond this turn there is none.
TOUCH_MM, MOST_TURN_DEG = 0.2, 175.0
# A leg may end this much before the shoulder: rounding of the lengths.
LEG_MM = 0.05


def step_findings(hit: ReplayHit, step: PlanStep, finger_mm: Corners | None) -> tuple[Finding, ...]:
    """What stepping through one hit finds. A hit that would bend the wrong way is told and not stepped through."""
    backward = wrong_way(hit, step)
    if backward is not None:
        return (backward,)
    # Where the part as it lies before the hit meets the stop; none where plan or machine tell no stop.
    touch = None
    if finger_mm is not None and step.stop_mm is not None:
        x_mm, r_mm = step.stop_mm
        touch = meets.contact(hit.at_turn(0.0).rings, finger_mm, x_mm=x_mm, r_mm=r_mm)
    moments = _placed(hit, touch)
    tools = meets.obstacles(hit.stack.solids, contact_mm=PRESSED_MM if hit.kind == "offset" else meets.CONTACT_MM)
    # What is tested through the stroke: the part where the stop has placed it, an offset by its legs.
    pieces, bodies = hit.pieces() if hit.kind == "offset" else (moments,), (*tools, *_finger(step, finger_mm))
    bend = place("bend", hit.bend.number)
    return (
        *angle_findings(hit, step),
        *leg_findings(hit),
        *_stop_findings(hit, step, touch),
        *(
            _meets(step, strike, "replay-meets", bend, turn_deg=float(piece.turns_deg[strike.moment]))
            for piece in pieces
            for strike in meets.struck(piece, bodies)
        ),
        *_self_findings(hit),
        *_way_findings(hit, step, moments, tools),
    )


def _placed(hit: ReplayHit, touch: meets.StopContact | None) -> Moments:
    """The stroke; a hem pressed flat has no line under a nose, so there it is the stop that places the part."""
    moments = hit.moments()
    if hit.kind != "flatten" or touch is None or not np.isfinite(touch.gap_mm):
        return moments
    return Moments(moments.rings.moved(across_mm=-touch.gap_mm), moments.turns_deg, moments.nose_up_mm)


def _stop_findings(hit: ReplayHit, step: PlanStep, touch: meets.StopContact | None) -> Iterator[Finding]:
    if touch is None or step.stop_mm is None:
        return
    where, (x_mm, r_mm) = place("step", step.step), step.stop_mm
    if not np.isfinite(touch.gap_mm):
        yield refuse("replay-stop-misses", where, x_mm=x_mm, r_mm=r_mm)
        return
    if hit.kind != "flatten" and abs(touch.gap_mm) > STOP_MM:
        yield refuse("replay-stop-off", where, x_mm=x_mm, wanted_mm=x_mm - touch.gap_mm)
    if not touch.labels & _wanted_labels(hit, step):
        # A bend zone counts to the leg behind it.
        label = min(touch.labels)
        yield refuse("replay-stop-elsewhere", where, leg=hit.view.leg_of(label if label >= 0 else -1 - label))


def _wanted_labels(hit: ReplayHit, step: PlanStep) -> set[int]:
    """What the plan says the stop touches: the rear edge's flat, or the flat beyond the bend gauged on.

    A hem at the rear edge is itself what the stop meets.
    """
    if step.gauged_on != "flange":
        return {0, -1} if abs(hit.view.turns_deg[0]) > 90 else {0}
    zones = [hit.view.place_of(zone) for zone in hit.zones_of.get(step.gauged_bend or 0, ())]
    return {*zones, *(-1 - zone for zone in zones if abs(hit.view.turns_deg[zone]) > 90)}


def _meets(step: PlanStep, strike: meets.Strike, code: str, where: Phrase, **more: float) -> Finding:
    said = refuse(code, where, body=phrase(f"replay.{strike.body}"), overlap_mm=strike.overlap_mm, **more)
    return said.at_step(step.step, bodies=("part", strike.body), overlap_mm=strike.overlap_mm)


def _finger(step: PlanStep, finger_mm: Corners | None) -> tuple[meets.Obstacle, ...]:
    if finger_mm is None or step.stop_mm is None:
        return ()
    behind_mm, r_mm = step.stop_mm[0] + (step.number("retract_mm") or 0.0), step.stop_mm[1]
    moved = tuple((across - behind_mm, up + r_mm) for across, up in finger_mm)
    return meets.obstacles([Solid("stop", moved, with_ram=False)], contact_mm=PUSH_MM)


def _self_findings(hit: ReplayHit) -> Iterator[Finding]:
    moment = meets.crosses_itself(hit.moments(inset_mm=meets.CONTACT_MM).rings) if hit.air_bend is not None else None
    if moment is not None:
        turn_deg = float(hit.moments().turns_deg[moment])
        yield refuse("replay-itself", place("bend", hit.bend.number), turn_deg=turn_deg)


def _way_findings(
    hit: ReplayHit, step: PlanStep, moments: Moments, tools: tuple[meets.Obstacle, ...]
) -> Iterator[Finding]:
    """In before the hit and out after it, at the plan's open height."""
    open_mm = step.number("open_height_mm")
    if open_mm is None:
        return
    after = moments.at(-1)
    if hit.air_bend is not None:  # sprung back, still on the die
        finished_deg = step.turn_deg("finished_deg")
        after = hit.at_turn(hit.air_bend.loaded_deg if finished_deg is None else finished_deg)
    for code, moment in (("load", moments.at(0)), ("unload", after)):
        if step.leaves_along_bed and code == "unload":
            continue
        touch, ring = float(moment.nose_up_mm[0]), moment.rings.points_mm[0]
        told = step.ways.get("tilt-in" if code == "load" else "tilt-out")
        if told is not None:
            if not is_free(ring, tools, told, touch_mm=touch, open_mm=open_mm):
                yield refuse(f"replay-{code}", place("step", step.step), open_mm=open_mm)
        elif not meets.way_out(ring, tools, touch_mm=touch, open_mm=open_mm):
            ram = _ram_findings(step, moment, tools, code=code)
            yield from ram or [refuse(f"replay-{code}", place("step", step.step), open_mm=open_mm)]


def _ram_findings(step: PlanStep, moment: Moments, tools: tuple[meets.Obstacle, ...], *, code: str) -> list[Finding]:
    """The ram on its way down onto the part, or up from it."""
    touch, top = float(moment.nose_up_mm[0]), step.number("open_height_mm") or 0.0
    heights = np.linspace(touch, max(touch, top), max(2, int(abs(top - touch) / RAM_STEP_MM) + 1))
    still = Rings(np.repeat(moment.rings.points_mm, len(heights), axis=0), moment.rings.labels)
    met = meets.struck(Moments(still, np.zeros(len(heights)), heights), [tool for tool in tools if tool.with_ram])
    return [_meets(step, strike, f"replay-ram-{code}", place("step", step.step)) for strike in met]


def wrong_way(hit: ReplayHit, step: PlanStep) -> Finding | None:
    """A refusal where the face that is up would bend the sheet the other way."""
    rises = hit.view.section.turns_deg[hit.zones[0]] > 0
    if rises == (hit.stack.turned if hit.kind == "offset" else True):
        return None
    wanted = phrase("replay.face-down" if step.marked_up else "replay.face-up")
    return refuse("replay-face", place("bend", hit.bend.number), face=wanted)


def angle_findings(hit: ReplayHit, step: PlanStep) -> Iterator[Finding]:
    """The finished angle is the section's, the loaded one is not wider, and the depth goes with it."""
    # The turn the drawing wants after this hit: none for an offset's own, or a hem's pre-bend, which is the setter's.
    is_own = hit.kind == "offset" or (hit.kind == "air-bend" and hit.bend.kind == "hem")
    wanted = None if is_own else abs(hit.view.section.turns_deg[hit.zones[0]])
    where = place("bend", hit.bend.number)
    told, loaded = step.turn_deg("finished_deg"), step.turn_deg("bend_to_deg")
    if told is not None and wanted is not None and abs(told - wanted) > ANGLE_DEG:
        yield refuse("replay-angle", where, told_deg=180.0 - told, wanted_deg=180.0 - wanted)
    if hit.air_bend is not None and loaded is not None and told is not None and loaded < told - ANGLE_DEG:
        yield refuse("replay-springback", where, loaded_deg=180.0 - loaded, finished_deg=180.0 - told)
    yield from _depth_findings(hit, step)


def _depth_findings(hit: ReplayHit, step: PlanStep) -> Iterator[Finding]:
    """The depth lies between those of a turn a little less and a little more than the one under load."""
    bend, depth_mm = hit.air_bend, step.number("depth_mm")
    if bend is None or depth_mm is None or hit.bend.kind == "hem":
        return
    turns = bend.loaded_deg + np.array([-DEPTH_DEG, 0.0, DEPTH_DEG])
    least, due, most = hit.vee.depth_mm(
        np.clip(turns, 0.0, MOST_TURN_DEG), radius_mm=bend.radius_mm, thickness_mm=hit.view.section.thickness_mm
    )
    if not least - (TOUCH_MM if turns[0] <= 0 else 0.0) <= depth_mm <= most:
        values = {"depth_mm": depth_mm, "wanted_mm": float(due), "loaded_deg": 180.0 - bend.loaded_deg}
        yield refuse("replay-depth", place("bend", hit.bend.number), **values)


def leg_findings(hit: ReplayHit) -> Iterator[Finding]:
    """A leg must lie on its shoulder all through the stroke: neither end nor another bend slides into the opening."""
    bend, view = hit.air_bend, hit.view
    if bend is None:
        return
    turns, thickness_mm = turns_between(view, bend.loaded_deg), view.section.thickness_mm
    needed = hit.vee.shoulder_mm(np.radians(turns) / 2, radius_mm=bend.radius_mm, thickness_mm=thickness_mm)
    rest = view.section.zones_mm[bend.zone] / 2 * (1 - turns / bend.loaded_deg)
    for front in (True, False):
        short = float((needed - rest).max()) - straight_mm(view, bend, front=front)
        if short > LEG_MM:
            leg = view.leg_of(bend.zone + 1 if front else bend.zone)
            yield refuse("replay-leg", place("leg", leg), bend=hit.bend.number, short_mm=short)


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
