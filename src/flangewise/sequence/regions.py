"""Regions for every hit with every stack offered, made when first asked for and kept for the problem."""

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from flangewise.clearance import LIFT_MM, Body, Movables, Region, Slide, Stroke, ToolStack, slid_region, swept_region
from flangewise.geometry import Chain, done_angles, section_path
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.problem import Hit, Operation, SectionProblem
from flangewise.sequence.tree import WingTree

if TYPE_CHECKING:
    from flangewise.sequence.contact import Contact
    from flangewise.sequence.opening import Opening


@dataclass(frozen=True)
class Sides:
    """What the wing in front and the wing behind must not enter during one hit."""

    front: Region
    behind: Region


def stroke_of(chain: Chain, operation: Operation, hit: Hit) -> Stroke:
    """The stroke of a swing in numbers; a chain drawn with sharp corners is swung with sharp corners."""
    zone, thickness = operation.zones[0], chain.thickness_mm
    return Stroke(
        opening_mm=hit.stack.opening_mm,
        shoulder_radius_mm=hit.stack.shoulder_radius_mm,
        thickness_mm=thickness,
        radius_mm=-thickness / 2 if chain.radii_mm[zone] < 0 else hit.formed_radius_mm,
        zone_mm=chain.zones_mm[zone] if hit.zone_mm is None else hit.zone_mm,
        half_turn_deg=hit.loaded_turn_deg / 2,
    )


def wing_faces(operation: Operation) -> tuple[int, int]:
    """Face beside the operation toward the start, and toward the end."""
    return operation.zones[0], operation.zones[-1] + 1


def side_up(problem: SectionProblem, operation: Operation) -> bool | None:
    """Which face an operation wants up: marked face up (True), down (False), either (None: an offset)."""
    turns = [problem.chain.turns_deg[zone] for zone in operation.zones]
    if all(turn >= 0 for turn in turns):
        return True
    if all(turn <= 0 for turn in turns):
        return False
    return None


def offset_fits(problem: SectionProblem, operation: Operation, hit: Hit, *, marked_up: bool, behind: int) -> bool:
    """Does the step of an offset face the way the offset pair wants it in this pose.

    Going from behind to the front, the step rises when its first zone bends toward the face that is up.
    """
    if hit.kind != "offset":
        return True
    first = operation.zones[0] if behind == 0 else operation.zones[-1]
    rises = (problem.chain.turns_deg[first] > 0) == marked_up
    levels = hit.stack.levels_mm
    return rises == (levels[1] > levels[0])


class Regions:
    """Keeps regions by what they depend on. Symmetric stacks share one region for both wings of a swing."""

    def __init__(self, chain: Chain) -> None:
        """Nothing is computed yet."""
        self._chain = chain
        self._kept: dict[tuple[object, ...], Region] = {}
        self._stacks: dict[int, ToolStack] = {}
        self._reach_mm = chain.developed_mm

    def of(self, operation: Operation, hit: Hit, *, behind: int) -> Sides:
        """Both regions of a hit of an operation, with the start (0) or the end (1) behind."""
        self._stacks[id(hit.stack)] = hit.stack
        if hit.kind == "press":
            return self._pressed(operation, hit, behind)
        if hit.kind == "offset":
            return Sides(self._slid(operation, hit, behind=False), self._slid(operation, hit, behind=True))
        front = self._swung(operation, hit, behind=False)
        return Sides(front, front if hit.stack.symmetric else self._swung(operation, hit, behind=True))

    def _swung(self, operation: Operation, hit: Hit, *, behind: bool) -> Region:
        stroke = stroke_of(self._chain, operation, hit)
        key = ("swing", id(hit.stack), stroke, behind)
        if key not in self._kept:
            self._kept[key] = swept_region(_bodies(hit, behind), stroke, reach_mm=self._reach_mm)
        return self._kept[key]

    def _slid(self, operation: Operation, hit: Hit, *, behind: bool) -> Region:
        key = ("offset", id(hit.stack), operation.zones, behind)
        if key not in self._kept:
            slide = offset_slide(self._chain, operation, hit, behind=behind)
            self._kept[key] = self._along(slide, hit, behind=behind)
        return self._kept[key]

    def _pressed(self, operation: Operation, hit: Hit, behind: int) -> Sides:
        """The body of the part lies on the lower plate, the hem's leg is folded back over it."""
        leg_at_end = leg_is_at_end(self._chain, operation)
        body_behind = (behind == 0) == leg_at_end
        regions = []
        for is_leg in (False, True):
            key = ("press", id(hit.stack), operation.zones, body_behind, is_leg)
            if key not in self._kept:
                slide = press_slide(self._chain, operation, is_leg=is_leg)
                self._kept[key] = self._along(slide, hit, behind=body_behind)
            regions.append(self._kept[key])
        body, leg = regions
        return Sides(leg, body) if body_behind else Sides(body, leg)

    def _along(self, slide: Slide, hit: Hit, *, behind: bool) -> Region:
        thickness = self._chain.thickness_mm
        return slid_region(_bodies(hit, behind), slide, thickness_mm=thickness, reach_mm=self._reach_mm)


class Wings:
    """What the wings of a section look like and must keep clear of, whatever problem is asked of it."""

    def __init__(self, chain: Chain) -> None:
        """Nothing is looked at yet."""
        self.regions = Regions(chain)
        self.trees: dict[tuple[int, bool, bool], WingTree] = {}


@lru_cache(maxsize=4)
def wings_of(chain: Chain, _zones: tuple[tuple[int, ...], ...]) -> Wings:
    """The wings of a section bent at its operations' zones: kept for the blanks that are asked of in turn."""
    return Wings(chain)


class Shapes:
    """What was found of a section's shapes between tools: the same for all problems that differ in prices alone."""

    def __init__(self, problem: SectionProblem) -> None:
        """Nothing is looked at yet."""
        self.wings = wings_of(problem.chain, tuple(operation.zones for operation in problem.operations))
        self.tools: dict[int, Movables] = {}
        self.exits: dict[tuple[Candidate, int], Opening] = {}
        self.contacts: dict[tuple[Candidate, int, int], Contact] = {}


def _bodies(hit: Hit, behind: bool) -> tuple[Body, ...]:
    return hit.stack.seen_from_behind() if behind else hit.stack.bodies


def leg_is_at_end(chain: Chain, operation: Operation) -> bool:
    """Which side of a hem is its leg: the one with less sheet."""
    start = chain.line_mm(operation.zones[0])
    return chain.developed_mm - start < start


def offset_span_mm(chain: Chain, operation: Operation, *, bent: bool) -> tuple[float, float]:
    """Across and up from one outer edge of an offset's zones to the other, flat or formed."""
    first, last = operation.zones[0], operation.zones[-1]
    angles = done_angles(chain, set(operation.zones) if bent else set())
    path = section_path(chain, angles)
    inside = path.points_mm[(path.spans >= 2 * first + 1) & (path.spans <= 2 * last + 1)]
    along = path.points_mm[1] - path.points_mm[0]
    heading = along / max(float(np.linalg.norm(along)), 1e-12)
    across = float((inside[-1] - inside[0]) @ heading)
    return across, abs(float((inside[-1] - inside[0]) @ np.array([-heading[1], heading[0]])))


def offset_slide(chain: Chain, operation: Operation, hit: Hit, *, behind: bool) -> Slide:
    """Way of one wing of an offset: from the higher land, flat, to its own land."""
    own = hit.stack.levels_mm[0 if behind else 1]
    high, low, half = max(hit.stack.levels_mm), min(hit.stack.levels_mm), chain.thickness_mm / 2
    start, end = (offset_span_mm(chain, operation, bent=bent)[0] / 2 for bent in (False, True))
    return Slide((start, high + half), (end, own + half), high + 2 * half, low + 2 * half)


def press_slide(chain: Chain, operation: Operation, *, is_leg: bool) -> Slide:
    """A hem lies with the middle of its leg under the plates; the upper plate comes down from far above."""
    zone = operation.zones[0]
    leg = chain.flats_mm[zone + 1 if leg_is_at_end(chain, operation) else zone]
    half, height = chain.thickness_mm / 2, 2 * chain.middle_radius_mm(zone)
    at = (-leg / 2, half + height if is_leg else half)
    top = height + 2 * half
    return Slide(at, at, top if is_leg else top + LIFT_MM, top, turned_over=is_leg)
