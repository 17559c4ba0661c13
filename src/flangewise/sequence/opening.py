"""How far the ram must open at a step, and what decides it."""

import itertools
import math
from typing import Any

import numpy as np

from flangewise.clearance import (
    CHORD_MM,
    CONTACT_MM,
    GRID_MM,
    Movables,
    Tilting,
    WayOut,
    least_lift_mm,
    pulls_out,
    way_out,
)
from flangewise.geometry import Path, Points
from flangewise.records import dataclass, replace
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.hold import die_edges_mm
from flangewise.sequence.moves import START
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

# So many bends to a side are looked at for what keeps a part from leaving.
MOST_BESIDE = 4


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
    loading, leaving = _moments(problem, way, done, shapes)
    limit_mm = problem.operations[way.operation].options[way.option].hits[-1].stack.open_limit_mm
    most_mm = UNLIMITED_MM if limit_mm is None else limit_mm
    first_mm, bottom_mm = loading.nose_mm, leaving.nose_mm
    reason, piece = _reason(problem, way, done)
    out = leaving.way_out()
    lift_out = least_lift_mm(out, most_mm=most_mm - bottom_mm, likely_mm=likely_mm - bottom_mm)
    lift_in = None
    if lift_out is not None:
        lift_in = least_lift_mm(loading.way_out(), most_mm=most_mm - first_mm, likely_mm=likely_mm - first_mm)
    if lift_in is None or lift_out is None:
        found = Opening(None, None, out.free_in_place(SLIDE_MM), "side-exit", piece)
    else:
        open_height_mm = max(lift_in + first_mm, lift_out + bottom_mm)
        found = Opening(open_height_mm - bottom_mm, open_height_mm, False, reason, piece)
    shapes.exits[way, done] = found
    return found


def caught_by(problem: SectionProblem, way: Candidate, done: int, *, shapes: Shapes, likely_mm: float) -> int | None:
    """The operations that decide it where a part does not leave level: few in a row about the bend, as a set.

    With whatever lift on the grid, the faces beside them alone do not come out, nor what holds them: of every part that
    has them bent and flat alike. None where all of it, or no part of it alone, is caught.
    """
    operation, last = problem.operations[way.operation], len(problem.operations) - 1
    if any(hit.kind != "swing" for hit in operation.options[way.option].hits):
        return None
    limit_mm = operation.options[way.option].hits[-1].stack.open_limit_mm
    most_mm = UNLIMITED_MM if limit_mm is None else limit_mm
    # As a rule it is what stands behind when the part is brought in; else what lies to both sides.
    back, ahead = (-1, 0) if way.behind == START else (0, 1)
    asked = itertools.product(((back, ahead), (-1, 1)), _moments(problem, way, done, shapes))
    for (before, after), moment in asked:
        most = math.floor((most_mm - moment.nose_mm) / GRID_MM)
        likely = min(max(math.ceil((likely_mm - moment.nose_mm) / GRID_MM), 1), most)
        for far in range(1, MOST_BESIDE + 1 if most >= 1 else 0):
            low, high = max(way.operation + before * far, 0), min(way.operation + after * far, last)
            if high - low == last:
                break
            ends = 2 * problem.operations[low].zones[0], 2 * problem.operations[high].zones[-1] + 2
            out = moment.between(*ends).way_out()
            if not any(out.open_at(lift * GRID_MM) for lift in (likely, most, *range(1, most + 1))):
                return sum(1 << each for each in range(low, high + 1) if each != way.operation)
    return None


def pulls_straight(
    problem: SectionProblem, way: Candidate, done: int, *, shapes: Shapes, straight_pull_mm: float
) -> bool:
    """Whether a step surely needs no wider opening than the straight pull: what is looked for would not be more."""
    if (way, done) not in shapes.straight:
        shapes.straight[way, done] = _pulls_straight(problem, way, done, shapes, straight_pull_mm)
    return shapes.straight[way, done]


def _pulls_straight(
    problem: SectionProblem, way: Candidate, done: int, shapes: Shapes, straight_pull_mm: float
) -> bool:
    last = problem.operations[way.operation].options[way.option].hits[-1]
    most_mm = UNLIMITED_MM if last.stack.open_limit_mm is None else last.stack.open_limit_mm
    edges_mm = die_edges_mm(problem.operations[way.operation].options[way.option])
    slip = (edges_mm[1], last.loaded_turn_deg / 2) if edges_mm is not None and last.kind == "swing" else (0.0, 0.0)
    return all(each.pulls_out(straight_pull_mm, most_mm, slip) for each in _moments(problem, way, done, shapes))


def straight_opening(problem: SectionProblem, way: Candidate, done: int, *, straight_pull_mm: float) -> Opening:
    """The opening of a step that pulls straight: no more than the straight pull, and not measured more closely."""
    last = len(problem.operations[way.operation].options[way.option].hits) - 1
    lift_mm = straight_pull_mm - nose_mm(problem, way, hit=last, share=FULL)
    return Opening(lift_mm, straight_pull_mm, False, *_reason(problem, way, done))


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
    moments = []
    for share in (FLAT, min(sprung, FULL)):
        laid = _moment(problem, way, done, shapes, hit=0, share=share)
        level = laid.way_out()
        tilting = Tilting(laid.tools, laid.points_mm, level, thickness_mm=laid.thickness_mm, nose_mm=laid.nose_mm)
        moments.append((laid.nose_mm, level, tilting))

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
    thickness_mm = problem.chain.thickness_mm
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


@dataclass(frozen=True)
class _Moment:
    """The part between the tools when it is brought in or taken out."""

    tools: Movables
    path: Path
    thickness_mm: float
    nose_mm: float
    tight_mm: float

    @property
    def points_mm(self) -> Points:
        """The middle of the sheet."""
        return self.path.points_mm

    def between(self, first_span: int, last_span: int) -> "_Moment":
        """Some of its pieces alone, thinner by what their arcs may be drawn otherwise without the others."""
        path = self.path
        inside = (path.spans >= first_span) & (path.spans <= last_span)
        some = Path(path.points_mm[inside], path.normals[inside], path.spans[inside])
        return replace(self, path=some, tight_mm=self.tight_mm + CHORD_MM)

    def way_out(self) -> WayOut:
        """Where it may go."""
        return way_out(**self._laid)

    @property
    def _laid(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in ("tools", "points_mm", "thickness_mm", "nose_mm", "tight_mm")}

    def pulls_out(self, pull_mm: float, most_mm: float, slip: tuple[float, float]) -> bool:
        """Whether it goes a plain way with the least lift on the grid that opens so far, or the most."""
        steps, most = math.ceil((pull_mm - self.nose_mm) / GRID_MM), math.floor((most_mm - self.nose_mm) / GRID_MM)
        lift_mm = min(max(steps, 1), most) * GRID_MM
        spare_mm = max(lift_mm + self.nose_mm - pull_mm, 0.0)
        edge_mm, slope_deg = slip
        return most >= 1 and pulls_out(
            **self._laid, lift_mm=lift_mm, spare_mm=spare_mm, edge_mm=edge_mm, slope_deg=slope_deg
        )


def _moments(problem: SectionProblem, way: Candidate, done: int, shapes: Shapes) -> tuple[_Moment, _Moment]:
    """The part as it is brought in at its first hit, and as it is taken out at its last."""
    last = len(problem.operations[way.operation].options[way.option].hits) - 1
    loading = _moment(problem, way, done, shapes, hit=0, share=FLAT)
    return loading, _moment(problem, way, done, shapes, hit=last, share=FULL)


def _moment(problem: SectionProblem, way: Candidate, done: int, shapes: Shapes, *, hit: int, share: float) -> _Moment:
    struck = problem.operations[way.operation].options[way.option].hits[hit]
    return _Moment(
        shapes.tools_of(struck.stack),
        part_path(problem, way, done, hit=hit, share=share),
        problem.chain.thickness_mm,
        nose_mm(problem, way, hit=hit, share=share),
        CONTACT_MM if struck.kind == "swing" else PRESSED_MM,
    )


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
