"""One hit of a plan set up for stepping through: which zones turn, from where, and the moments in between."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from flangewise.replay.bodies import Stack
from flangewise.replay.fold import Rings, ZoneBend
from flangewise.replay.order import Loading
from flangewise.replay.plan import PlanStep
from flangewise.replay.section import NumberedBend, SectionNumbers, View, view_of
from flangewise.replay.stroke import (
    Moments,
    Vee,
    bend_moments,
    flatten_moments,
    offset_moments,
    turns_between,
)

HitKind = Literal["air-bend", "flatten", "offset"]


@dataclass(frozen=True)
class ReplayHit:
    """One hit: the view before it, its zones counted from the back, the tools, and for an air bend how its zone turns.

    `zones_of` gives the section's zones by bend number.
    """

    kind: HitKind
    bend: NumberedBend
    view: View
    zones: tuple[int, ...]
    air_bend: ZoneBend | None
    stack: Stack
    zones_of: Mapping[int, tuple[int, ...]]

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
        legs = [index for index, label in enumerate(moments.rings.labels) if _place(label) <= rear]
        front = [index for index, label in enumerate(moments.rings.labels) if _place(label) > fore + 0.5]
        return (_only(moments, legs), _only(moments, front), moments.at(-1))

    def at_turn(self, turn_deg: float) -> Moments:
        """The part at one turn of an air bend; at the beginning or end of a press where no zone turns under a nose."""
        if self.air_bend is None:
            return self.moments().at(0 if turn_deg == 0 else -1)
        turns = np.array([min(turn_deg, self.air_bend.loaded_deg)])
        return bend_moments(self.view, self.air_bend, vee=self.vee, turns_deg=turns)


def _place(label: int) -> float:
    """Where a flat or zone stands along the section, from the back: flats whole, zones half a step on."""
    return label if label >= 0 else -1 - label + 0.5


def _only(moments: Moments, points: list[int]) -> Moments:
    rings = Rings(moments.rings.points_mm[:, points], tuple(moments.rings.labels[index] for index in points))
    return Moments(rings, moments.turns_deg, moments.nose_up_mm)


def hit_of(
    section: SectionNumbers,
    turns_deg: tuple[float, ...],
    step: PlanStep,
    *,
    bend: NumberedBend,
    loading: Loading,
    stack: Stack,
) -> ReplayHit:
    """A step of a plan as a hit, the zones having the turns of the moment."""
    view = view_of(section, turns_deg, marked_up=loading.marked_up, start_behind=loading.start_behind)
    zones = tuple(sorted(view.place_of(zone) for zone in bend.zones))
    pressed = ReplayHit("flatten", bend, view, zones, None, stack, {each.number: each.zones for each in section.bends})
    if bend.kind == "offset":
        return replace(pressed, kind="offset")
    if bend.kind == "hem" and turns_deg[bend.zones[0]] != 0:
        return pressed
    loaded = step.loaded_turn_deg
    loaded_deg = loaded if loaded is not None else abs(view.section.turns_deg[zones[0]])
    return replace(pressed, kind="air-bend", air_bend=ZoneBend(zones[0], loaded_deg, _radius_mm(pressed, step)))


def _radius_mm(hit: ReplayHit, step: PlanStep) -> float:
    """The radius the stroke forms: the section's own; a hem's pre-bend is read back from the plan's depth and turn."""
    own_mm, thickness_mm = hit.view.section.radii_mm[hit.zones[0]], hit.view.section.thickness_mm
    depth_mm, loaded_deg = step.number("depth_mm"), step.loaded_turn_deg
    if hit.bend.kind != "hem":
        return own_mm
    if depth_mm is None or loaded_deg is None:
        return max(own_mm, thickness_mm / 2)
    half = math.radians(loaded_deg) / 2
    told = hit.vee.opening_mm / 2 * math.tan(half) - depth_mm - thickness_mm / math.cos(half)
    return max(0.0, told / (1 / math.cos(half) - 1) - hit.vee.shoulder_radius_mm)
