"""One hit of a plan set up for stepping through, and its moments: where part and punch stand at each turn on the way.

The outer face of each flange is tangent to the sheet's outer arc and to the die's shoulder arc, which gives the height
of the arc's centre above the die top (plane geometry, exact for a circular arc and straight flanges):

    yc = (r + t + rd - (V/2) sin a) / cos a - rd        a: half the turn
"""

import math
from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass, replace
from flangewise.replay.bodies import Stack
from flangewise.replay.fold import (
    Array,
    NumberedBend,
    Rings,
    SectionNumbers,
    View,
    ZoneBend,
    rings_of,
    rings_on_flat,
    view_of,
)
from flangewise.replay.plan import PlanStep

HitKind = Literal["air-bend", "flatten", "offset"]

# A step turns the bend by no more than this, and moves no point of the part further than this.
STEP_DEG = 0.5
STEP_MM = 0.5
MOST_STEPS = 3000


@dataclass(frozen=True)
class Moments:
    """The part at each moment of a hit, in the machine: rings, the turn, and how high the punch nose stands."""

    rings: Rings
    turns_deg: Array
    nose_up_mm: Array

    def at(self, index: int) -> "Moments":
        """One moment out of many; -1 is the last."""
        one = [index]
        return Moments(Rings(self.rings.points_mm[one], self.rings.labels), self.turns_deg[one], self.nose_up_mm[one])


@dataclass(frozen=True)
class Vee:
    """The die as the formula wants it: tangent opening and shoulder radius."""

    opening_mm: float
    shoulder_radius_mm: float

    def arc_centre_mm(self, half_rad: Array, *, radius_mm: float, thickness_mm: float) -> Array:
        """Height of the bend arc's centre above the die top."""
        reach = radius_mm + thickness_mm + self.shoulder_radius_mm
        centre: Array = (reach - self.opening_mm / 2 * np.sin(half_rad)) / np.cos(half_rad) - self.shoulder_radius_mm
        return centre

    def depth_mm(self, turn_deg: Array, *, radius_mm: float, thickness_mm: float) -> Array:
        """Depth of the punch nose below the die top at turns, for an inside radius."""
        return radius_mm - self.arc_centre_mm(np.radians(turn_deg) / 2, radius_mm=radius_mm, thickness_mm=thickness_mm)

    def shoulder_mm(self, half_rad: Array, *, radius_mm: float, thickness_mm: float) -> Array:
        """How far out along the straight flange, from the end of the arc, the die's shoulder touches it."""
        reach = self.shoulder_radius_mm + radius_mm + thickness_mm
        distance: Array = (self.opening_mm / 2 - reach * np.sin(half_rad)) / np.cos(half_rad)
        return distance


def turns_between(view: View, loaded_deg: float, *, step_deg: float = STEP_DEG) -> Array:
    """Turns from 0 to the loaded one, so dense that no point of the part moves far in a step of the usual size."""
    # No point of the part is further than this from any of its bends.
    reach_mm = sum(view.section.flats_mm) + sum(view.section.zones_mm)
    far_mm = STEP_MM * step_deg / STEP_DEG
    finest = min(step_deg, 2 * math.degrees(far_mm / max(reach_mm, 1.0)))
    count = min(MOST_STEPS, max(2, math.ceil(loaded_deg / finest)))
    return np.linspace(0.0, loaded_deg, count + 1)


def bend_moments(view: View, bend: ZoneBend, *, vee: Vee, turns_deg: Array, inset_mm: float = 0.0) -> Moments:
    """An air bend at the given turns: the part on the die's shoulders, the punch nose on its inside."""
    halves, thickness_mm = np.radians(turns_deg) / 2, view.section.thickness_mm
    centre = vee.arc_centre_mm(halves, radius_mm=bend.radius_mm, thickness_mm=thickness_mm)
    rings = rings_of(view, bend, turns_deg, inset_mm=inset_mm).moved(up_mm=centre - bend.radius_mm - thickness_mm / 2)
    sharpest = max(bend.radius_mm, 0.0)
    return Moments(rings, turns_deg, -vee.depth_mm(turns_deg, radius_mm=sharpest, thickness_mm=thickness_mm))


def offset_moments(view: View, zones: tuple[int, int], *, turned: bool, steps: int = 180) -> Moments:
    """An offset pressed in one hit: one leg stays level on its land, the other goes down level.

    The middle of the web stands at the centre plane all the way; `zones` count from the back. Tools set straight leave
    the rear leg where it lies, tools set turned the front one. The nose, the punch's lower land, rides on the leg that
    goes down.
    """
    rear, fore = zones
    still, falling = (fore + 1, rear) if turned else (rear, fore + 1)
    shares = np.linspace(0.0, 1.0, steps + 1)
    rings = rings_on_flat(view, still, {zone: view.section.turns_deg[zone] * shares for zone in zones})
    placed = rings.moved(across_mm=-rings.of(fore)[:, :, 0].mean(axis=1))
    fallen = rings.of(falling)[:, :, 1].max(axis=1)
    return Moments(placed, shares * abs(view.section.turns_deg[rear]), fallen)


def flatten_moments(view: View, zone: int, *, steps: int = 60) -> Moments:
    """A hem pressed shut on a flat die: the sheet lies level and still, the hemmed leg closes over it.

    The middle of the closed leg lies at the centre plane. The nose, the underside of the flat punch, rides on the
    highest point of the hemmed leg.
    """
    flats_mm = view.section.flats_mm
    turns = np.linspace(abs(view.turns_deg[zone]), 180.0, steps + 1)
    still, leg = (zone, zone + 1) if sum(flats_mm[zone + 1 :]) < sum(flats_mm[: zone + 1]) else (zone + 1, zone)
    rings = rings_on_flat(view, still, {zone: np.copysign(turns, view.section.turns_deg[zone])})
    placed = rings.moved(across_mm=-float(rings.of(leg)[-1, :, 0].mean()))
    return Moments(placed, turns, rings.of(leg, -1 - zone)[:, :, 1].max(axis=1))


@dataclass(frozen=True)
class ReplayHit:
    """One hit: the view before it, its zones counted from the back, tools, and for an air bend how its zone turns."""

    kind: HitKind
    bend: NumberedBend
    view: View
    zones: tuple[int, ...]
    air_bend: ZoneBend | None
    stack: Stack
    zones_of: Mapping[int, tuple[int, ...]]  # the section's, by bend number

    @property
    def vee(self) -> Vee:
        """The die as the formulas want it."""
        return Vee(self.stack.opening_mm, self.stack.shoulder_radius_mm)

    def moments(self, *, step_deg: float = 0.5, inset_mm: float = 0.0) -> Moments:
        """The part through the stroke, densely."""
        if self.kind == "flatten":
            return flatten_moments(self.view, self.zones[0])
        if self.kind == "offset" or self.air_bend is None:
            return offset_moments(self.view, (self.zones[0], self.zones[1]), turned=self.stack.turned)
        turns = turns_between(self.view, self.air_bend.loaded_deg, step_deg=step_deg)
        return bend_moments(self.view, self.air_bend, vee=self.vee, turns_deg=turns, inset_mm=inset_mm)

    def pieces(self, *, step_deg: float = 0.5) -> tuple[Moments, ...]:
        """What is to be tested through the stroke: the whole part, but for an offset's web while it forms.

        How the web and its two bends run between the lands on the way is not known; the legs are, and so is the end.
        """
        moments = self.moments(step_deg=step_deg)
        if self.kind != "offset":
            return (moments,)
        rear, fore = self.zones
        labels = np.array(moments.rings.labels)
        # Where each point stands along the section, from the back: flats whole, zones half a step on.
        places = np.where(labels >= 0, labels, -0.5 - labels)
        return (_only(moments, places <= rear), _only(moments, places > fore + 0.5), moments.at(-1))

    def at_turn(self, turn_deg: float) -> Moments:
        """The part at one turn of an air bend; at the beginning or end of a press where no zone turns under a nose."""
        if self.air_bend is None:
            return self.moments().at(0 if turn_deg == 0 else -1)
        turns = np.array([min(turn_deg, self.air_bend.loaded_deg)])
        return bend_moments(self.view, self.air_bend, vee=self.vee, turns_deg=turns)


def _only(moments: Moments, taken: NDArray[np.bool_]) -> Moments:
    rings = Rings(moments.rings.points_mm[:, taken], tuple(np.array(moments.rings.labels)[taken].tolist()))
    return Moments(rings, moments.turns_deg, moments.nose_up_mm)


def hit_of(
    section: SectionNumbers, turns_deg: tuple[float, ...], step: PlanStep, *, bend: NumberedBend, stack: Stack
) -> ReplayHit:
    """A step of a plan as a hit, the zones having the turns of the moment."""
    lies = step.loading
    view = view_of(section, turns_deg, marked_up=lies.marked_up, start_behind=lies.start_behind)
    zones = tuple(sorted(view.place_of(zone) for zone in bend.zones))
    pressed = ReplayHit("flatten", bend, view, zones, None, stack, {each.number: each.zones for each in section.bends})
    if bend.kind == "offset":
        return replace(pressed, kind="offset")
    if bend.kind == "hem" and turns_deg[bend.zones[0]] != 0:
        return pressed
    loaded = step.turn_deg("bend_to_deg")
    loaded_deg = loaded if loaded is not None else abs(view.section.turns_deg[zones[0]])
    return replace(pressed, kind="air-bend", air_bend=ZoneBend(zones[0], loaded_deg, _radius_mm(pressed, step)))


def _radius_mm(hit: ReplayHit, step: PlanStep) -> float:
    """The radius the stroke forms: the section's own; a hem's pre-bend is read back from the plan's depth and turn."""
    own_mm, thickness_mm = hit.view.section.radii_mm[hit.zones[0]], hit.view.section.thickness_mm
    depth_mm, loaded_deg = step.number("depth_mm"), step.turn_deg("bend_to_deg")
    if hit.bend.kind != "hem":
        return own_mm
    if depth_mm is None or loaded_deg is None:
        return max(own_mm, thickness_mm / 2)
    half = math.radians(loaded_deg) / 2
    told = hit.vee.opening_mm / 2 * math.tan(half) - depth_mm - thickness_mm / math.cos(half)
    return max(0.0, told / (1 / math.cos(half) - 1) - hit.vee.shoulder_radius_mm)
