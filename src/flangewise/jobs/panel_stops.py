"""The stops of a machine as a panel's hits need them, and the bends that what they find hangs on."""

from __future__ import annotations

import math

from flangewise.jobs.problem import gauge_of
from flangewise.panel_order import Fingers, Side, SidePlate, SpaceHit, lies
from flangewise.shop import Handler, Machine

# A face in front that comes no further back than this over the bend stays clear of the stops.
BACK_MM = 0.5


def fingers_of(machine: Machine, handler: Handler) -> Fingers:
    """The fingers of a machine and its side stop, with what its handler wishes of them."""
    return Fingers(
        gauge_of(machine),
        machine.fingers,
        machine.finger_width_mm,
        machine.least_finger_spacing_mm,
        formed_wish_s=handler.formed_gauge_wish_s,
        past_bend_wish_s=handler.past_bend_wish_s,
        one_finger_wish_s=handler.one_finger_wish_s,
        side=_side_plate(machine, handler),
    )


def side_wish_s(hit: SpaceHit) -> float:
    """What one finger and a side stop are asked for at least; infinite where there is no side stop."""
    return math.inf if hit.fingers is None or hit.fingers.side is None else hit.fingers.side.wish_s


def _side_plate(machine: Machine, handler: Handler) -> SidePlate | None:
    """The side stop of a machine's row; None where it has none."""
    own = machine.side_stop
    if own is None:
        return None
    sides: tuple[Side, ...] = ("left", "right") if own.sides == "either" else (own.sides,)
    return SidePlate(own.front_mm, own.up_mm, own.wide_mm, sides, own.least_mm, handler.side_stop_wish_s)


def stopped_beside(hit: SpaceHit) -> frozenset[int]:
    """The bends that what lies at a side stop hangs on: all, where there is one."""
    if hit.fingers is None or hit.fingers.side is None:
        return frozenset()
    return frozenset(bend for face in hit.faces for bend in hit.depends(face))


def stopped_by(hit: SpaceHit) -> frozenset[int]:
    """The bends that what stops find hangs on: of the wing behind, and of faces in front that reach back there."""
    faces = [*hit.behind.branches]
    for face, branch in hit.front.branches.items():
        back_mm = min(float(lies(hit.front, face, at).corners_mm[:, 0].min()) for at in range(1 << len(branch.path)))
        faces += [face] if back_mm < -BACK_MM else []
    return frozenset(bend for face in faces for bend in hit.depends(face))
