"""How far the ram must open at a step, and what decides it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flangewise.clearance import CONTACT_MM, GRID_MM, Movables, WayOut, least_lift_mm, movables, way_out
from flangewise.geometry import Path
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.placing import FLAT, FULL, part_path, wing_paths
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import Shapes, stroke_of
from flangewise.sequence.solution import OpeningReason

UNLIMITED_MM = 600.0
SLIDE_MM = 10.0
FLAT_MM = 1e-6
# An offset or a hem is pressed hard between its tools: so much of it may seem to lie in them.
PRESSED_MM = 0.3


@dataclass(frozen=True)
class Opening:
    """Least lift from the bottom of the stroke (None: no way to the front within the limit), the open height
    over the die top that goes with it, whether the part could be slid out sideways, and what decides."""

    lift_mm: float | None
    open_height_mm: float | None
    side_exit: bool
    reason: OpeningReason
    piece: int | None


def least_opening_mm(opening: Opening | None, straight_pull_mm: float) -> float:
    """What must pass between die top and nose: the straight pull, or what the way out was measured to need beyond it.

    The way out is measured on a grid; less than one step of it over the straight pull is no more than rounding.
    """
    measured = opening.open_height_mm if opening is not None else None
    if measured is None or measured - GRID_MM <= straight_pull_mm:
        return straight_pull_mm
    return measured


def opening_at(
    problem: SectionProblem, way: Candidate, done: int, *, shapes: Shapes, likely_mm: float = 0.0
) -> Opening:
    """The opening of one step, looked at once; the tools are cut into convex parts once for each stack.

    `likely_mm`: about how far open the tools will have to be.
    """
    if (way, done) not in shapes.exits:
        stacks = [hit.stack for hit in problem.operations[way.operation].options[way.option].hits]
        for stack in stacks:
            if id(stack) not in shapes.tools:
                shapes.tools[id(stack)] = movables(stack.bodies)
        tools = [shapes.tools[id(stack)] for stack in stacks]
        shapes.exits[way, done] = opening_of(problem, way, done, tools=tools, likely_mm=likely_mm)
    return shapes.exits[way, done]


def opening_of(
    problem: SectionProblem, way: Candidate, done: int, *, tools: Sequence[Movables], likely_mm: float = 0.0
) -> Opening:
    """The opening a step needs for bringing the part in and for taking it out.

    `tools`: those of each hit. Looked at for the first hit of an operation when bringing in, for the last when
    taking out.
    """
    hits = problem.operations[way.operation].options[way.option].hits
    last = len(hits) - 1
    bottom = nose_mm(problem, way, hit=last, share=FULL)
    limit = hits[last].stack.open_limit_mm
    most = UNLIMITED_MM if limit is None else limit
    loading = _way(problem, way, done, hit=0, share=FLAT, tools=tools[0])
    leaving = _way(problem, way, done, hit=last, share=FULL, tools=tools[last])
    first = nose_mm(problem, way, hit=0, share=FLAT)
    lift_in = least_lift_mm(loading, most_mm=most - first, likely_mm=likely_mm - first)
    lift_out = least_lift_mm(leaving, most_mm=most - bottom, likely_mm=likely_mm - bottom)
    reason, piece = _reason(problem, way, done)
    if lift_in is None or lift_out is None:
        return Opening(None, None, leaving.free_in_place(SLIDE_MM), "side-exit", piece)
    open_height = max(lift_in + first, lift_out + bottom)
    return Opening(open_height - bottom, open_height, False, reason, piece)


def nose_mm(problem: SectionProblem, way: Candidate, *, hit: int, share: float) -> float:
    """Height of the punch nose above the die top at a moment of a hit."""
    operation = problem.operations[way.operation]
    stroke_hit = operation.options[way.option].hits[hit]
    thickness = problem.chain.thickness_mm
    if stroke_hit.kind == "swing":
        stroke = stroke_of(problem.chain, operation, stroke_hit)
        return -stroke.depth_mm(share * stroke.half_turn_deg)
    if stroke_hit.kind == "offset":
        levels = stroke_hit.stack.levels_mm
        return max(levels) + share * (min(levels) - max(levels)) + thickness
    return 2 * problem.chain.middle_radius_mm(operation.zones[0]) + thickness


def _way(problem: SectionProblem, way: Candidate, done: int, *, hit: int, share: float, tools: Movables) -> WayOut:
    struck = problem.operations[way.operation].options[way.option].hits[hit]
    path = part_path(problem, way, done, hit=hit, share=share)
    nose = nose_mm(problem, way, hit=hit, share=share)
    tight = CONTACT_MM if struck.kind == "swing" else PRESSED_MM
    thickness = problem.chain.thickness_mm
    return way_out(tools, path.points_mm, thickness_mm=thickness, nose_mm=nose, tight_mm=tight)


def _reason(problem: SectionProblem, way: Candidate, done: int) -> tuple[OpeningReason, int | None]:
    """Whether something stands up or hangs down behind, and which piece reaches farthest.

    What hangs in front hangs before the die block and comes away as it is.
    """
    _, behind = wing_paths(problem, way, done)
    top, piece = _extreme(behind, 1.0)
    if top > FLAT_MM:
        return "stands-behind", piece
    low, piece = _extreme(behind, -1.0)
    return ("hangs-below", piece) if low > FLAT_MM else ("this-bend", None)


def _extreme(wing: Path, sign: float) -> tuple[float, int]:
    row = int(np.argmax(sign * wing.points_mm[:, 1]))
    return float(sign * wing.points_mm[row, 1]), int(wing.spans[row])
