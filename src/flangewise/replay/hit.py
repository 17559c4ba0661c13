"""One hit of a plan set up for stepping through: which zones turn, from where, and the moments in between."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from flangewise.replay.bodies import Stack
from flangewise.replay.fold import Rings, Swing
from flangewise.replay.order import Pose
from flangewise.replay.plan import PlanStep
from flangewise.replay.section import NumberedBend, SectionNumbers, View, view_of
from flangewise.replay.stroke import (
    Moments,
    Vee,
    flatten_moments,
    offset_moments,
    reach_mm,
    swing_moments,
    turns_between,
)

HitKind = Literal["swing", "flatten", "offset"]


@dataclass(frozen=True)
class ReplayHit:
    """One hit: the view before it, its zones counted from the back, and for an air bend the swing and the die.

    `zones_of` gives the section's zones by bend number.
    """

    kind: HitKind
    bend: NumberedBend
    view: View
    zones: tuple[int, ...]
    swing: Swing | None
    vee: Vee
    stack: Stack
    zones_of: Mapping[int, tuple[int, ...]]

    def moments(self, *, step_deg: float = 0.5, inset_mm: float = 0.0) -> Moments:
        """The part through the stroke, densely."""
        if self.kind == "flatten":
            return flatten_moments(self.view, self.zones[0], from_deg=abs(self.view.turns_deg[self.zones[0]]))
        if self.kind == "offset" or self.swing is None:
            return offset_moments(self.view, (self.zones[0], self.zones[1]), turned=self.stack.turned)
        turns = turns_between(self.swing.loaded_deg, reach_mm(self.view), step_deg=step_deg)
        return swing_moments(self.view, self.swing, vee=self.vee, turns_deg=turns, inset_mm=inset_mm)

    def pieces(self, *, step_deg: float = 0.5) -> tuple[Moments, ...]:
        """What is to be tested through the stroke: the whole part, but for an offset's web while it forms.

        How the web and its two bends run between the lands on the way is not known; the legs are, and so is the end.
        """
        moments = self.moments(step_deg=step_deg)
        if self.kind != "offset":
            return (moments,)
        rear, fore = self.zones
        legs = [index for index, label in enumerate(moments.rings.labels) if _place(label) <= rear]
        front = [index for index, label in enumerate(moments.rings.labels) if _place(label) > fore + 0.5]
        return (_only(moments, legs), _only(moments, front), one_moment(moments, -1))

    def at_turn(self, turn_deg: float, *, inset_mm: float = 0.0) -> Moments:
        """The part at one turn of an air bend; at the beginning or end of a press where there is no swing."""
        if self.swing is not None:
            turns = np.array([min(turn_deg, self.swing.loaded_deg)])
            return swing_moments(self.view, self.swing, vee=self.vee, turns_deg=turns, inset_mm=inset_mm)
        return one_moment(self.moments(), 0 if turn_deg == 0 else -1)


def _place(label: int) -> float:
    """Where a flat or zone stands along the section, from the back: flats whole, zones half a step on."""
    return label if label >= 0 else -1 - label + 0.5


def _only(moments: Moments, points: list[int]) -> Moments:
    rings = Rings(moments.rings.points_mm[:, points], tuple(moments.rings.labels[index] for index in points))
    return Moments(rings, moments.turns_deg, moments.nose_up_mm)


def one_moment(moments: Moments, index: int) -> Moments:
    """One moment out of many."""
    pick = slice(index, None) if index == -1 else slice(index, index + 1)
    rings = Rings(moments.rings.points_mm[pick], moments.rings.labels)
    return Moments(rings, moments.turns_deg[pick], moments.nose_up_mm[pick])


def hit_of(
    section: SectionNumbers,
    turns_deg: tuple[float, ...],
    step: PlanStep,
    *,
    bend: NumberedBend,
    pose: Pose,
    stack: Stack,
) -> ReplayHit:
    """A step of a plan as a hit, the zones having the turns of the moment."""
    view = view_of(section, turns_deg, marked_up=pose.marked_up, start_behind=pose.start_behind)
    zones = tuple(sorted(view.place_of(zone) for zone in bend.zones))
    vee = Vee(stack.opening_mm, stack.shoulder_radius_mm)
    numbered = {each.number: each.zones for each in section.bends}
    if bend.kind == "offset":
        return ReplayHit("offset", bend, view, zones, None, vee, stack, numbered)
    if bend.kind == "hem" and turns_deg[bend.zones[0]] != 0:
        return ReplayHit("flatten", bend, view, zones, None, vee, stack, numbered)
    swing = Swing(zones[0], _loaded_deg(view, zones[0], step), _radius_mm(view, zones[0], step, bend=bend, vee=vee))
    return ReplayHit("swing", bend, view, zones, swing, vee, stack, numbered)


def _loaded_deg(view: View, zone: int, step: PlanStep) -> float:
    return step.loaded_turn_deg if step.loaded_turn_deg is not None else abs(view.full_deg[zone])


def _radius_mm(view: View, zone: int, step: PlanStep, *, bend: NumberedBend, vee: Vee) -> float:
    """The radius the stroke forms: the section's own; a hem's pre-bend is read back from the plan's depth and turn."""
    if bend.kind != "hem":
        return view.radii_mm[zone]
    if step.depth_mm is None or step.loaded_turn_deg is None:
        return max(view.radii_mm[zone], view.thickness_mm / 2)
    half = math.radians(step.loaded_turn_deg) / 2
    rise = 1 / math.cos(half) - 1
    told = vee.opening_mm / 2 * math.tan(half) - step.depth_mm - view.thickness_mm / math.cos(half)
    return max(0.0, told / rise - vee.shoulder_radius_mm)
