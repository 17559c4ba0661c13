"""What the replay finds at the stops of a panel's hit: fingers behind, a side stop in front, and what they meet."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from flangewise.findings import Finding, place, refuse
from flangewise.geometry import Outline
from flangewise.records import dataclass, replace
from flangewise.replay.bodies import drawn
from flangewise.replay.panel_fold import EDGE_STEP_MM, PanelNumbers
from flangewise.replay.panel_hit import PanelHit
from flangewise.replay.panel_plan import PanelPlanStep
from flangewise.replay.panel_step import Stepping
from flangewise.replay.panel_stroke import Moving, PanelStrike, finger_meets, stop_standing, strikes
from flangewise.words import phrase

# A stop may stand this far from where the part is.
STOP_MM = 0.15
# The part may push its stop this far while it is bent.
PUSH_MM = 0.15
# What reaches as far as the side stop lies on it to within this.
TOUCH_MM = 0.05


@dataclass(frozen=True)
class SidePlate:
    """A machine's side stop: from where to where its face reaches, toward the operator from the die's centre plane and
    over the die's top, how thick it is along the bed, and the least that a part must lie on it."""

    front_mm: tuple[float, float]
    up_mm: tuple[float, float]
    wide_mm: float
    least_mm: float


def met(panel: PanelNumbers, step: PanelPlanStep, strike: PanelStrike, code: str) -> Finding:
    """A meeting of part and body as a finding."""
    values: dict[str, Any] = {
        "body": phrase(f"replay.{strike.body}"),
        "face": panel.name(strike.face),
        "overlap_mm": strike.overlap_mm,
        "at_mm": strike.at_mm,
    }
    if code == "replay-panel-meets" and not strike.beside:
        values["turn_deg"] = strike.turn_deg
    said = refuse("replay-panel-beside" if strike.beside else code, place("step", step.step), **values)
    return said.at_step(step.step, bodies=("part", strike.body), overlap_mm=strike.overlap_mm)


def stop_findings(
    hit: PanelHit, moving: Moving | Stepping, finger: Outline | None, width_mm: float
) -> Iterator[Finding]:
    """That every finger meets the part where it is set, and nothing of the part runs into it through the stroke."""
    step, behind = hit.step, hit.by_side["behind"]
    x_mm, r_mm = step.x_mm, step.r_mm
    if finger is None or x_mm is None or r_mm is None:
        return
    corners, where = drawn(finger), place("step", step.step)
    points = moving.placed(behind, 0.0, "behind")
    for z_mm in step.z_mm:
        at_mm = z_mm - (step.part_from_mm or 0.0)
        found = finger_meets(points, behind.faces, corners, x_mm=x_mm, r_mm=r_mm, z_mm=at_mm, width_mm=width_mm)
        if found is None:
            yield refuse("replay-stop-misses", where, x_mm=x_mm, r_mm=r_mm)
        elif abs(found[0] - x_mm) > STOP_MM:
            yield refuse("replay-stop-off", where, x_mm=x_mm, wanted_mm=found[0])
        yield from _pushed(hit, moving, corners, at_mm, width_mm)


def _pushed(
    hit: PanelHit, moving: Moving | Stepping, corners: Sequence[tuple[float, float]], at_mm: float, width_mm: float
) -> Iterator[Finding]:
    """Where the part runs into a finger drawn back as the plan says."""
    step, half_mm = hit.step, width_mm / 2
    assert step.x_mm is not None and step.r_mm is not None
    back_mm, r_mm = step.x_mm + step.retract_mm + PUSH_MM, step.r_mm
    moved = tuple((across - back_mm, up + r_mm) for across, up in corners)
    stop, through = stop_standing(moved, at_mm - half_mm, at_mm + half_mm), _through(moving)
    for strike in strikes(moving, {"behind": hit.by_side["behind"]}, [stop], through):
        yield met(hit.panel, step, strike, "replay-panel-meets")


def _through(moving: Moving | Stepping) -> dict[float, list[float]]:
    """Every moment of the stroke, for what stands still."""
    return {float(turn): [0.0] for turn in moving.turns_deg}


def side_findings(hit: PanelHit, moving: Moving | Stepping, plate: SidePlate | None) -> Iterator[Finding]:
    """That a side of the part lies on the side stop where it is set, and nothing of it runs into it."""
    step = hit.step
    if step.side is None:
        return
    where, z_mm = place("step", step.step), step.side_z_mm
    if plate is None:
        yield refuse("replay-no-side-stop", where)
        return
    points = np.vstack([moving.placed(cloud, 0.0, where_it_lies) for where_it_lies, cloud in hit.by_side.items()])
    front, up = -points[:, 1], points[:, 2]
    inside = (front >= plate.front_mm[0]) & (front <= plate.front_mm[1])
    inside &= (up > plate.up_mm[0]) & (up < plate.up_mm[1])
    sign, from_mm = (1.0 if step.side == "right" else -1.0), step.part_from_mm or 0.0
    reach = sign * points[inside, 0]
    far_mm = float(reach.max()) if len(reach) else -np.inf
    on_it = front[inside][reach > far_mm - TOUCH_MM]
    if not len(on_it) or float(np.ptp(on_it)) < plate.least_mm - 2 * EDGE_STEP_MM:
        yield refuse("replay-side-misses", where, z_mm=z_mm, least_mm=plate.least_mm)
    elif abs(far_mm - sign * (z_mm - from_mm)) > STOP_MM:
        yield refuse("replay-side-off", where, z_mm=z_mm, wanted_mm=from_mm + sign * far_mm)
    (near, far), (low, high) = plate.front_mm, plate.up_mm
    ends = sorted(z_mm - from_mm + sign * off_mm for off_mm in (PUSH_MM, plate.wide_mm))
    stop = stop_standing(((near, low), (far, low), (far, high), (near, high)), ends[0], ends[1])
    for strike in strikes(moving, hit.by_side, [replace(stop, name="side-stop")], _through(moving)):
        yield met(hit.panel, step, strike, "replay-panel-meets")
