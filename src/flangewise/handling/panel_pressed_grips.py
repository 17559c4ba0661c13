"""A gripper that holds a panel while a hem of it is flattened: what lies on the lower plate lies still.

The flange comes down upon it, never further out than where it lies in the end.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flangewise.clearance import Solid
from flangewise.geometry import Frame, as_frame
from flangewise.handling.panel_bodies import Bools, SeenBodies, overlaps, placed
from flangewise.handling.panel_rules import AtHit, PanelInHand, tools_of
from flangewise.handling.step_grips import FAR_MM
from flangewise.panel_order import PressedHit


def pressed_clear(asked: PanelInHand, at: AtHit, grips: Sequence[tuple[int, Frame]]) -> Bools:
    """Which bodies keep clear of the plates, the open ram and the closed flange; `grips`: the held face of each, and
    its axes in the frame of its wing. What holds the flange itself does not."""
    hit = at.hit
    assert isinstance(hit, PressedHit)
    wing, half = hit.behind if hit.body_behind else hit.front, asked.thickness_mm / 2
    leg = hit.front if hit.body_behind else hit.behind
    lying = _on_the_plate(hit)
    over = Frame(((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)), (0.0, 0.0, hit.high_mm))
    solids: list[Solid] = [solid for node in leg.nodes(at.done) for solid in leg.solids(*node, half)]
    closed, found = placed(solids, over), np.zeros(len(grips), dtype=bool)
    for number, (face, in_wing) in enumerate(grips):
        if face in wing.branches and not overlaps(asked.grown.placed(in_wing), closed):
            body = asked.bare.placed(lying.after(in_wing))
            found[number] = _clear_of_plates(asked, at, hit, SeenBodies([each.corners_mm for each in body], len(body)))
    return found


def _clear_of_plates(asked: PanelInHand, at: AtHit, hit: PressedHit, seen: SeenBodies) -> bool:
    clear_mm, up_mm = asked.shape.row.clear_mm, max(at.opening_mm - hit.nose_mm, 0.0)
    passed, out = seen.moved((0.0, 0.0, -up_mm)), seen.moved((0.0, -FAR_MM, 0.0))
    for body, run in tools_of(at):
        ram = body.with_ram
        if passed.near(body, run, clear_mm, up_mm=hit.nose_mm) if ram else seen.near(body, run, clear_mm, up_mm=0.0):
            return False
        if out.near(body, run, clear_mm, up_mm=at.opening_mm if ram else 0.0):
            return False
    return True


def _on_the_plate(hit: PressedHit) -> Frame:
    """From the frame of the wing that lies on the lower plate to the machine: the flange's middle under the plates."""
    side = -1.0 if hit.body_behind else 1.0
    rotation = np.diag([-side, -side, 1.0])
    return as_frame(rotation, np.array([hit.shift_mm, side * hit.leg_mm / 2, hit.shapes.blank.thickness_mm / 2]))
