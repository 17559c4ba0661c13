"""How far the ram must open at a step, and what decides it."""

from dataclasses import dataclass

import numpy as np

from flangewise.clearance import CONTACT_MM, GRID_MM, Movables, Tilting, WayOut, least_lift_mm, movables, way_out
from flangewise.geometry import Points
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.placing import FLAT, FULL, part_path, wing_paths
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import Shapes, stroke_of
from flangewise.sequence.solution import OpeningReason, Tilted

UNLIMITED_MM = 600.0
SLIDE_MM = 10.0
FLAT_MM = 1e-6
# An offset or a hem is pressed hard between its tools: so much of it may seem to lie in them.
PRESSED_MM = 0.3
# A tilted way found with the ram all the way up is looked for with less: so much of what it opens over a straight pull.
SHARES = (0.0, 0.25, 0.5, 0.75)


@dataclass(frozen=True)
class Opening:
    """Least lift from the bottom of the stroke (None: no way to the front within the limit), the open height
    over the die top that goes with it, whether the part could be slid out sideways, what decides, and the ways that
    are tilted."""

    lift_mm: float | None
    open_height_mm: float | None
    side_exit: bool
    reason: OpeningReason
    piece: int | None
    tilted: Tilted | None = None


def least_opening_mm(opening: Opening | None, straight_pull_mm: float) -> float:
    """What must pass between die top and nose: the straight pull, or what the way out was measured to need beyond it.

    The way out is measured on a grid; less than one step of it over the straight pull is no more than rounding.
    """
    measured = opening.open_height_mm if opening is not None else None
    if opening is not None and opening.tilted is not None and measured is not None:
        return measured
    if measured is None or measured - GRID_MM <= straight_pull_mm:
        return straight_pull_mm
    return measured


def opening_at(
    problem: SectionProblem, way: Candidate, done: int, *, shapes: Shapes, likely_mm: float = 0.0
) -> Opening:
    """The opening a step needs for bringing the part in at its first hit and for taking it out at its last.

    Looked at once; the tools are cut into convex parts once for each stack. `likely_mm`: about how far open the tools
    will have to be.
    """
    if (way, done) in shapes.exits:
        return shapes.exits[way, done]
    hits = problem.operations[way.operation].options[way.option].hits
    for stack in (hit.stack for hit in hits):
        if id(stack) not in shapes.tools:
            shapes.tools[id(stack)] = movables(stack.bodies)
    last = len(hits) - 1
    first_mm, bottom_mm = (nose_mm(problem, way, hit=hit, share=share) for hit, share in ((0, FLAT), (last, FULL)))
    loading = _way(problem, way, done, hit=0, share=FLAT, tools=shapes.tools[id(hits[0].stack)])
    leaving = _way(problem, way, done, hit=last, share=FULL, tools=shapes.tools[id(hits[last].stack)])
    limit_mm = hits[last].stack.open_limit_mm
    most_mm = UNLIMITED_MM if limit_mm is None else limit_mm
    lift_in = least_lift_mm(loading, most_mm=most_mm - first_mm, likely_mm=likely_mm - first_mm)
    lift_out = least_lift_mm(leaving, most_mm=most_mm - bottom_mm, likely_mm=likely_mm - bottom_mm)
    reason, piece = _reason(problem, way, done)
    if lift_in is None or lift_out is None:
        found = Opening(None, None, leaving.free_in_place(SLIDE_MM), "side-exit", piece)
    else:
        open_height_mm = max(lift_in + first_mm, lift_out + bottom_mm)
        found = Opening(open_height_mm - bottom_mm, open_height_mm, False, reason, piece)
    shapes.exits[way, done] = found
    return found


def tilted_at(
    problem: SectionProblem, way: Candidate, done: int, *, shapes: Shapes, pulled_mm: float, front_mm: float
) -> Opening | None:
    """The opening for ways in and out of which some are tilted, where a step has no level ones; None: none found.

    Looked for with the ram as far open as it goes; then as far as for a straight pull, and at places between. What is
    kept in hand is in the opening it is looked for with: a way that is free there need not be so with another. The part
    is taken out as it has sprung back. Of a hem, which is made in two hits, none is looked for.
    """
    operation = problem.operations[way.operation]
    hit, *more = operation.options[way.option].hits
    if more:
        return None
    sprung = abs(problem.chain.turns_deg[operation.zones[0]]) / hit.loaded_turn_deg if hit.kind == "swing" else FULL
    tools, thickness_mm = shapes.tools[id(hit.stack)], problem.chain.thickness_mm
    moments = []
    for share in (FLAT, min(sprung, FULL)):
        nose = nose_mm(problem, way, hit=0, share=share)
        points_mm, tight_mm = _laid(problem, way, done, hit=0, share=share)
        level = way_out(tools, points_mm, thickness_mm=thickness_mm, nose_mm=nose, tight_mm=tight_mm)
        moments.append((nose, level, Tilting(tools, points_mm, level, thickness_mm=thickness_mm, nose_mm=nose)))

    def keyed_mm(least_mm: float) -> float:
        if hit.time is None:
            return least_mm
        return float(hit.time.open_heights_mm(np.array([least_mm]), np.array([front_mm]))[0])

    def opened(least_mm: float) -> Opening | None:
        open_mm, ways = keyed_mm(least_mm), []
        for is_out, (nose, level, tilting) in enumerate(moments):
            is_level = level.open_at(open_mm - nose)
            found = None if is_level else tilting.out_at(open_mm - nose, hung=bool(is_out))
            if found is None and not is_level:
                return None
            ways.append(found)
        return Opening(None, least_mm, False, "tilted", None, Tilted(ways[0], ways[1], open_mm))

    limit_mm = hit.stack.open_limit_mm
    top_mm = (UNLIMITED_MM if limit_mm is None else limit_mm) - keyed_mm(0.0)
    low_mm = max(min(pulled_mm, top_mm), thickness_mm)
    best = opened(top_mm) if top_mm > thickness_mm else None
    between = (low_mm + share * (top_mm - low_mm) for share in (SHARES if best is not None else ()))
    return next((each for least_mm in between if (each := opened(least_mm)) is not None), best)


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
    nose = nose_mm(problem, way, hit=hit, share=share)
    points_mm, tight_mm = _laid(problem, way, done, hit=hit, share=share)
    return way_out(tools, points_mm, thickness_mm=problem.chain.thickness_mm, nose_mm=nose, tight_mm=tight_mm)


def _laid(problem: SectionProblem, way: Candidate, done: int, *, hit: int, share: float) -> tuple[Points, float]:
    """The part as it lies at a moment of a hit, and how much of the sheet may lie in the tools then."""
    struck = problem.operations[way.operation].options[way.option].hits[hit]
    path = part_path(problem, way, done, hit=hit, share=share)
    return path.points_mm, CONTACT_MM if struck.kind == "swing" else PRESSED_MM


def _reason(problem: SectionProblem, way: Candidate, done: int) -> tuple[OpeningReason, int | None]:
    """Whether something stands up or hangs down behind, and which piece reaches farthest.

    What hangs in front hangs before the die block and comes away as it is.
    """
    _, behind = wing_paths(problem, way, done)
    up_mm = behind.points_mm[:, 1]
    top, low = int(np.argmax(up_mm)), int(np.argmin(up_mm))
    if up_mm[top] > FLAT_MM:
        return "stands-behind", int(behind.spans[top])
    return ("hangs-below", int(behind.spans[low])) if up_mm[low] < -FLAT_MM else ("this-bend", None)
