"""The hits of a job as the sheet prints them: what the setter keys in, the pictures' bodies and poses."""

from __future__ import annotations

from dataclasses import replace

from flangewise.geometry import Chain
from flangewise.jobs.one import Job
from flangewise.jobs.poses import on_die, on_plate, pose_of, pre_bent
from flangewise.jobs.problem import chain_of
from flangewise.jobs.stacks import tool_stack
from flangewise.pattern import FlatPattern
from flangewise.sequence import Step as Ordered
from flangewise.setup import Setup, SetupStep, words_before
from flangewise.sheet import Body, Pose, Step
from flangewise.shop import Machine
from flangewise.words import Phrase, phrase

Key = tuple[str, str, bool]


def tool_key(step: SetupStep) -> Key:
    """What makes a pair as it is built: punch, die, and whether the punch is turned."""
    return step.punch, step.die, step.punch_turned


def printed_steps(job: Job, setup: Setup) -> tuple[Step, ...]:
    """All hits in order."""
    assert job.pattern is not None and job.ordered is not None
    chain = chain_of(job.pattern)
    pairs = list(dict.fromkeys(tool_key(step) for step in setup.steps))
    orders = {bend: each for each in job.ordered.solution.steps for bend in (int(each.label),)}
    made: list[Step] = []
    for before, step in zip((None, *setup.steps), setup.steps, strict=False):
        ordered = orders[step.bends[0]]
        done = [zone.label for zone in job.pattern.zones if _done_before(step, zone.bend, setup)]
        fresh = _printed(job, chain, step, ordered, done=tuple(done), tools=pairs.index(tool_key(step)))
        moves = words_before(step, before)
        made.append(replace(fresh, moves=moves, new_load=not made or _laid_anew(made[-1], fresh)))
    return tuple(made)


def _done_before(step: SetupStep, bend: int, setup: Setup) -> bool:
    return any(bend in other.bends for other in setup.steps if other.step < step.step) and bend not in step.bends


def _laid_anew(last: Step, step: Step) -> bool:
    return (last.marked_face, last.start_at) != (step.marked_face, step.start_at)


def _printed(job: Job, chain: Chain, step: SetupStep, ordered: Ordered, *, done: tuple[str, ...], tools: int) -> Step:
    pattern = job.pattern
    assert pattern is not None
    zones = [zone for zone in pattern.zones if zone.bend in step.bends]
    before, after = _poses(chain, pattern, step, ordered, done)
    return Step(
        number=step.step,
        bends=tuple(zone.label for zone in zones),
        hit=step.hit,
        toward=zones[0].toward,
        turn_deg=180.0 - step.finished_deg if step.hit == "pre-bend" else zones[0].turn_deg,
        marked_face=step.marked_face,
        start_at="backgauge" if ordered.behind == "start" else "operator",
        done=done,
        gauged_on=_gauged_on(step),
        moves=(),
        new_load=False,
        tools=tools,
        station=0,
        part_from_mm=step.part_from_mm,
        before=before,
        after=after,
        bodies=_bodies(step, job.machine),
        x_mm=step.stops.x_mm,
        r_mm=step.stops.r_mm,
        z_mm=step.stops.z_mm,
        retract_mm=step.stops.retract_mm,
        depth_mm=step.depth_mm,
        bend_to_deg=step.bend_to_deg,
        finished_deg=step.finished_deg,
        open_height_mm=step.open_height_mm,
        open_height_reason=step.open_height_reason,
        slow_from_mm=step.slow_from_mm,
        ram_speed_mm_per_s=step.ram_speed_mm_per_s,
        crowning_mm=step.crowning_mm,
        force_kn=step.force_kn,
        clearance_mm=step.clearance_mm,
        seconds_s=step.seconds_s,
        deg_per_mm=step.deg_per_mm,
        spread_deg=step.spread_deg,
        spread_measured_deg=step.spread_measured_deg,
        correction=step.correction,
        trapped_behind=max((up for across, up in before.outline_mm if across < 0), default=0.0)
        > chain.thickness_mm * 2,
        hold=step.hold,
    )


def _poses(
    chain: Chain, pattern: FlatPattern, step: SetupStep, ordered: Ordered, done: tuple[str, ...]
) -> tuple[Pose, Pose]:
    """Before and after the hit. Of a hem, the order knows flat and folded only; between its hits it is drawn here."""
    formed = {index for index, zone in enumerate(pattern.zones) if zone.label in done}
    before = pose_of(chain, formed, step.before_mm, marked_up=ordered.marked_up, behind=ordered.behind)
    after = Pose(step.after_mm, ())
    if step.hit not in ("pre-bend", "flatten"):
        return before, after
    zone = next(index for index, each in enumerate(pattern.zones) if each.bend in step.bends)
    between = _between(chain, formed, zone, step, ordered)
    if step.hit == "pre-bend":
        return before, Pose(between, ())
    return Pose(between, before.flats), after


def _between(
    chain: Chain, formed: set[int], zone: int, step: SetupStep, ordered: Ordered
) -> tuple[tuple[float, float], ...]:
    """A hem between its two hits: over the die at the end of the first, or on the lower plate before the second."""
    first = step.hit == "pre-bend"
    turn_deg = min(180.0 - step.finished_deg, 179.0) if first else HEM_PRE_BEND_DEG
    run = pre_bent(chain, formed, zone, turn_deg=turn_deg, marked_up=ordered.marked_up, behind=ordered.behind)
    if first:
        return on_die(run, zone, depth_mm=step.depth_mm or 0.0, thickness_mm=chain.thickness_mm)
    body = zone if chain.flats_mm[zone + 1] <= chain.flats_mm[zone] else zone + 1
    return on_plate(run, zone, body=body, thickness_mm=chain.thickness_mm)


HEM_PRE_BEND_DEG = 150.0
"""What a hem is bent to before it is flattened, for its picture (common practice: 30 degrees included)."""


def _bodies(step: SetupStep, machine: Machine) -> tuple[Body, ...]:
    """Tools and machine where they stand at the bottom of the stroke, and the stop finger."""
    stack = tool_stack(step.pair, machine, turned=step.punch_turned)
    down_mm = step.depth_mm or 0.0
    found = []
    for body in stack.bodies:
        points = body.points_mm
        if body.with_ram:
            points = tuple((across, up - down_mm) for across, up in points)
        found.append(Body(body.name, points))  # type: ignore[arg-type]
    if step.stops.x_mm is not None and step.stops.r_mm is not None:
        finger = machine.finger.shifted(-step.stops.x_mm, step.stops.r_mm).drawn_mm(0.05)
        found.append(Body("finger", tuple((float(across), float(up)) for across, up in finger)))
    return tuple(found)


def _gauged_on(step: SetupStep) -> Phrase:
    if step.gauged_on is None:
        return phrase("sheet.gauge.none")
    if step.gauged_on == "flange":
        return phrase("sheet.gauge.flange", bend=step.gauged_bend or 0)
    return phrase(f"sheet.gauge.{step.gauged_on}")
