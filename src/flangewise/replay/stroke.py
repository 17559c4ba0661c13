"""The moments of one hit: where part and punch stand at each turn on the way from flat to the loaded turn.

The outer face of each flange is tangent to the sheet's outer arc and to the die's shoulder arc, which gives the height
of the arc's centre above the die top (plane geometry, exact for a circular arc and straight flanges):

    yc = (r + t + rd - (V/2) sin a) / cos a - rd        a: half the turn
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from flangewise.replay.fold import Array, Rings, Swing, ring_on_flat, rings_of
from flangewise.replay.section import View

# A step turns the bend by no more than this, and moves no point of the part further than this.
STEP_DEG = 0.5
STEP_MM = 0.5
MOST_STEPS = 3000
# A zone turned this little is drawn as an arc, so that all moments have the same points.
_BARELY = 1e-9


@dataclass(frozen=True)
class Moments:
    """The part at each moment of a hit, in the machine: rings, the turn, and how high the punch nose stands."""

    rings: Rings
    turns_deg: Array
    nose_up_mm: Array


@dataclass(frozen=True)
class Vee:
    """The die as the formula wants it: tangent opening and shoulder radius."""

    opening_mm: float
    shoulder_radius_mm: float


def turns_between(loaded_deg: float, reach_mm: float, *, step_deg: float = STEP_DEG) -> Array:
    """Turns from 0 to the loaded one, so dense that no point within `reach_mm` of the bend moves far in a step.

    A coarser step than usual lets it move so much further.
    """
    far_mm = STEP_MM * step_deg / STEP_DEG
    finest = min(step_deg, 2 * math.degrees(far_mm / max(reach_mm, 1.0)))
    count = min(MOST_STEPS, max(2, math.ceil(loaded_deg / finest)))
    return np.linspace(0.0, loaded_deg, count + 1)


def swing_moments(view: View, swing: Swing, *, vee: Vee, turns_deg: Array, inset_mm: float = 0.0) -> Moments:
    """An air bend at the given turns: the part on the die's shoulders, the punch nose on its inside."""
    halves = np.radians(turns_deg) / 2
    centre = arc_centre_mm(halves, vee, radius_mm=swing.radius_mm, thickness_mm=view.thickness_mm)
    rings = rings_of(view, swing, turns_deg, inset_mm=inset_mm)
    middle_up = centre - swing.radius_mm - view.thickness_mm / 2
    sharpest = max(swing.radius_mm, 0.0)
    nose = arc_centre_mm(halves, vee, radius_mm=sharpest, thickness_mm=view.thickness_mm) - sharpest
    return Moments(rings.moved(up_mm=middle_up), turns_deg, nose)


def arc_centre_mm(half_rad: Array, vee: Vee, *, radius_mm: float, thickness_mm: float) -> Array:
    """Height of the bend arc's centre above the die top."""
    shoulder = vee.shoulder_radius_mm
    reach = radius_mm + thickness_mm + shoulder
    centre: Array = (reach - vee.opening_mm / 2 * np.sin(half_rad)) / np.cos(half_rad) - shoulder
    return centre


def depth_at_mm(turn_deg: float, vee: Vee, *, radius_mm: float, thickness_mm: float) -> float:
    """Depth of the punch nose below the die top at a turn, for an inside radius."""
    half = np.array([math.radians(turn_deg) / 2])
    return float(radius_mm - arc_centre_mm(half, vee, radius_mm=radius_mm, thickness_mm=thickness_mm)[0])


def shoulder_at_mm(half_rad: Array, vee: Vee, *, radius_mm: float, thickness_mm: float) -> Array:
    """How far out along the straight flange, from the end of the arc, the die's shoulder touches it."""
    reach = vee.shoulder_radius_mm + radius_mm + thickness_mm
    distance: Array = (vee.opening_mm / 2 - reach * np.sin(half_rad)) / np.cos(half_rad)
    return distance


def reach_mm(view: View) -> float:
    """No point of the part is further than this from any of its bends."""
    return sum(view.flats_mm) + sum(view.zones_mm)


def offset_moments(view: View, zones: tuple[int, int], *, turned: bool, steps: int = 180) -> Moments:
    """An offset pressed in one hit: one leg stays level on its land, the other goes down level.

    The middle of the web stands at the centre plane all the way; `zones` count from the back. Tools set straight leave
    the rear leg where it lies, tools set turned the front one. The nose, the punch's lower land, rides on the leg that
    goes down.
    """
    rear, fore = zones
    still, falling = (fore + 1, rear) if turned else (rear, fore + 1)
    shares = np.linspace(_BARELY, 1.0, steps + 1)
    rings = [_offset_ring(view, zones, still, share=float(share)) for share in shares]
    fallen = np.array([upper_face_mm(ring, falling) for ring in rings])
    points = np.concatenate([ring.points_mm for ring in rings])
    return Moments(Rings(points, rings[0].labels), shares * abs(view.full_deg[rear]), fallen)


def _offset_ring(view: View, zones: tuple[int, int], still: int, *, share: float) -> Rings:
    shares = dict.fromkeys(zones, share)
    ring = ring_on_flat(at_turns(view, {zone: view.full_deg[zone] * part for zone, part in shares.items()}), still)
    web = [index for index, label in enumerate(ring.labels) if label == zones[1]]
    return ring.moved(across_mm=-float(ring.points_mm[0, web, 0].mean()))


def flatten_moments(view: View, zone: int, *, from_deg: float, steps: int = 60) -> Moments:
    """A hem pressed shut on a flat die: the sheet lies level and still, the hemmed leg closes over it.

    The middle of the closed leg lies at the centre plane. The nose, the underside of the flat punch, rides on the
    highest point of the hemmed leg.
    """
    turns = np.linspace(from_deg, 180.0, steps + 1)
    hem_is_front = _length_mm(view, zone, front=True) < _length_mm(view, zone, front=False)
    still, leg = (zone, zone + 1) if hem_is_front else (zone + 1, zone)
    full = math.copysign(1.0, view.full_deg[zone])
    rings = [ring_on_flat(at_turns(view, {zone: full * float(turn)}), still) for turn in turns]
    labels = rings[0].labels
    on_leg = [index for index, label in enumerate(labels) if label == leg]
    hemmed = [index for index, label in enumerate(labels) if label in (-1 - zone, leg)]
    points = np.concatenate([ring.points_mm for ring in rings])
    placed = Rings(points, labels).moved(across_mm=-float(points[-1, on_leg, 0].mean()))
    return Moments(placed, turns, points[:, hemmed, 1].max(axis=1))


def _length_mm(view: View, zone: int, *, front: bool) -> float:
    return sum(view.flats_mm[zone + 1 :] if front else view.flats_mm[: zone + 1])


def at_turns(view: View, turns_deg: dict[int, float]) -> View:
    """The view with some zones at other turns."""
    turns = tuple(turns_deg.get(zone, turn) for zone, turn in enumerate(view.turns_deg))
    return replace(view, turns_deg=turns)


def upper_face_mm(ring: Rings, flat: int) -> float:
    """Height of the highest point of a flat."""
    return float(max(ring.points_mm[0, index, 1] for index, label in enumerate(ring.labels) if label == flat))
