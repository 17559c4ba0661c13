"""Regions for every hit with every stack offered, made when first asked for and kept for the problem."""

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from flangewise.clearance import (
    LIFT_MM,
    Movables,
    Region,
    Slide,
    Stroke,
    ToolStack,
    movables,
    slid_region,
    swept_region,
)
from flangewise.geometry import Chain, done_angles, section_path
from flangewise.records import dataclass, field
from flangewise.sequence.arrays import Floats, Ints
from flangewise.sequence.candidates import Candidate, Pose
from flangewise.sequence.problem import Hit, Operation, SectionProblem
from flangewise.sequence.tree import WingTree

if TYPE_CHECKING:
    from flangewise.sequence.contact import StopContact
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
        self._chain = chain
        self._kept: dict[tuple[Stroke | Slide, int, bool], Region] = {}
        self._stacks: dict[int, ToolStack] = {}

    def of(self, operation: Operation, hit: Hit, *, behind: int) -> Sides:
        """Both regions of a hit of an operation, with the start (0) or the end (1) behind."""
        chain = self._chain
        self._stacks[id(hit.stack)] = hit.stack
        if hit.kind == "press":
            # The body of the part lies on the lower plate, the hem's leg is folded back over it.
            body_behind = (behind == 0) == leg_is_at_end(chain, operation)
            slides = (press_slide(chain, operation, is_leg=is_leg) for is_leg in (False, True))
            body, leg = (self._region(slide, hit, behind=body_behind) for slide in slides)
            return Sides(leg, body) if body_behind else Sides(body, leg)
        if hit.kind == "offset":
            slides = (offset_slide(chain, operation, hit, behind=side) for side in (False, True))
            return Sides(*(self._region(slide, hit, behind=bool(side)) for side, slide in enumerate(slides)))
        stroke = stroke_of(chain, operation, hit)
        front = self._region(stroke, hit, behind=False)
        return Sides(front, front if hit.stack.symmetric else self._region(stroke, hit, behind=True))

    def _region(self, way: Stroke | Slide, hit: Hit, *, behind: bool) -> Region:
        """What a wing must not enter on its way, made once."""
        key = (way, id(hit.stack), behind)
        if key not in self._kept:
            bodies = hit.stack.seen_from_behind() if behind else hit.stack.bodies
            reach_mm, thickness_mm = self._chain.developed_mm, self._chain.thickness_mm
            self._kept[key] = (
                swept_region(bodies, way, reach_mm=reach_mm)
                if isinstance(way, Stroke)
                else slid_region(bodies, way, thickness_mm=thickness_mm, reach_mm=reach_mm)
            )
        return self._kept[key]


@dataclass(frozen=True)
class Wings:
    """What the wings of a section look like and must keep clear of, whatever problem is asked of it."""

    regions: Regions
    trees: dict[tuple[int, bool, bool], WingTree] = field(default_factory=dict)


@lru_cache(maxsize=4)
def wings_of(chain: Chain, _zones: tuple[tuple[int, ...], ...]) -> Wings:
    """The wings of a section bent at its operations' zones: kept for the blanks that are asked of in turn."""
    return Wings(Regions(chain))


@dataclass(frozen=True, eq=False)
class MadeTable:
    """What tools add in one pose to what it costs, for all sets without its operation: (choices of tools, sets)."""

    options: Ints
    made_s: Floats


class Shapes:
    """What was found of a section's shapes between tools, and what follows from them by set.

    The same for all problems that differ in what changes of tools cost, in the datums that are preferred, and in how
    long may be searched, alone.
    `handled_s` is kept by pose and what is preferred there, `made` by pose.
    """

    def __init__(self, problem: SectionProblem) -> None:
        self.wings = wings_of(problem.chain, tuple(operation.zones for operation in problem.operations))
        self.handled_s: dict[tuple[Pose, tuple[str, ...]], Floats] = {}
        self.made: dict[Pose, MadeTable] = {}
        self.least_made_s: dict[tuple[Pose, bytes], Floats] = {}
        # What no plan comes below, by the tools it may take, and up to what it was looked for.
        self.floors: dict[object, tuple[float, float]] = {}
        self.tools: dict[int, Movables] = {}
        self.gaps_mm: dict[int, float] = {}
        self.exits: dict[tuple[Candidate, int], Opening] = {}
        self.straight: dict[tuple[Candidate, int], bool] = {}
        self.contacts: dict[tuple[Candidate, int, int], StopContact] = {}
        # How near tools and machine come in a step of a plan; None where nothing counts.
        self.clearances_mm: dict[tuple[Candidate, int], float | None] = {}

    def tools_of(self, stack: ToolStack) -> Movables:
        """A stack as the way out needs it, cut up once."""
        if id(stack) not in self.tools:
            self.tools[id(stack)] = movables(stack.bodies)
        return self.tools[id(stack)]


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
