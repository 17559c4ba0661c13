"""The steps of a plan with everything that is worked out once the plan stands.

Among it is how near the part comes to tools and machine. Whether anything is struck is asked of the middle surface and
a disc of half the sheet, which at a raw edge reaches further than the sheet; what is told of a plan is the sheet
itself, square edges and all.
"""

import math
from collections.abc import Sequence

import numpy as np

from flangewise.clearance import BULGE_MM, Body, Region, Stroke, through_stroke_mm
from flangewise.geometry import Path
from flangewise.sequence.forward import Choice
from flangewise.sequence.moves import START, moves_between
from flangewise.sequence.opening import least_opening_mm
from flangewise.sequence.placing import FULL, part_path, wing_paths
from flangewise.sequence.plan_check import PlanCheck
from flangewise.sequence.regions import stroke_of
from flangewise.sequence.search import Search
from flangewise.sequence.solution import Step, folded_section

# The faces beside the bend are meant to lie close to punch and die; only what is above the punch counts for them.
HIGH_BODIES = ("holder", "ram")
LEVEL_MM = 1e-6


def steps_of(search: Search, plan_check: PlanCheck, plan: tuple[Choice, ...]) -> tuple[Step, ...]:
    """The steps of a plan."""
    return tuple(_step(search, plan_check, choice, before=plan[i - 1] if i else None) for i, choice in enumerate(plan))


def _step(search: Search, plan_check: PlanCheck, choice: Choice, *, before: Choice | None) -> Step:
    problem, way = search.feasibility.problem, choice.way
    option = search.feasibility.option(way)
    opening = plan_check.opening(choice)
    slid = opening is not None and opening.side_exit and opening.lift_mm is None
    pulled_mm = search.feasibility.straight_pull_mm(way, choice.done)
    kept, step = search.feasibility.shapes.clearances_mm, (way, choice.done)
    if step not in kept:
        kept[step] = _clearance_mm(search, choice)
    start_behind = way.behind == START
    changed = before is not None and search.stations.change[search.station_of(before.way), search.station_of(way)] > 0
    return Step(
        operation=way.operation,
        label=problem.operations[way.operation].label,
        option=way.option,
        stacks=tuple(hit.stack for hit in option.hits),
        marked_up=way.marked_up,
        behind="start" if start_behind else "end",
        gauged=plan_check.contact(choice).gauging,
        moves=moves_between(problem.costs, before.pose, choice.pose) if before else (),
        tool_changed=bool(changed),
        done=choice.done,
        cost=choice.cost,
        clearance_mm=kept[step],
        lift_mm=opening.lift_mm if opening else None,
        open_height_mm=opening.open_height_mm if opening else None,
        opening_reason=opening.reason if opening else None,
        opening_piece=opening.piece if opening else None,
        side_exit=slid,
        least_opening_mm=problem.chain.thickness_mm if slid else least_opening_mm(opening, pulled_mm),
        reach_mm=search.feasibility.reach_mm(way, choice.done),
        hold=search.feasibility.hold(way, choice.done),
        wishes_s=search.feasibility.wishes(way, choice.done, datum=choice.datum),
        before=folded_section(part_path(problem, way, choice.done), problem.chain, start_behind=start_behind),
        after=folded_section(
            part_path(problem, way, choice.done, hit=len(option.hits) - 1, share=FULL),
            problem.chain,
            start_behind=start_behind,
        ),
        tilted=opening.tilted if opening else None,
    )


def _clearance_mm(search: Search, choice: Choice) -> float | None:
    """Least distance from sheet to tools and machine through all hits of a step, None if nothing counts.

    Counted are the pieces of the part beyond the run of sheet beside the bend against every body, and that run against
    what is above the punch. Within 0.05 mm of the true figure; of what is pressed the middle surface less half the
    sheet is told, which is never more.
    """
    problem, way = search.feasibility.problem, choice.way
    wings, operation = wing_paths(problem, way, choice.done), problem.operations[way.operation]
    least = math.inf
    for hit, sides in zip(search.feasibility.option(way).hits, search.feasibility.sides(way), strict=True):
        if hit.kind == "swing":
            stroke = stroke_of(problem.chain, operation, hit)
            both = zip(wings, (hit.stack.bodies, hit.stack.seen_from_behind()), strict=True)
            least = min(least, *(_swung_mm(wing, stroke, bodies) for wing, bodies in both))
        else:
            far = BULGE_MM + problem.chain.thickness_mm / 2
            both_sides = zip(wings, (sides.front, sides.behind), strict=True)
            least = min(least, *(_slid_mm(wing, region) - far for wing, region in both_sides))
    return None if math.isinf(least) else max(0.0, least)


def _parts(wing: Path) -> tuple[slice, slice | None]:
    """The straight run beside the bend, and from its end what lies beyond it; None where all of it is straight."""
    bent = np.flatnonzero(np.abs(wing.points_mm[:, 1] - wing.points_mm[0, 1]) > LEVEL_MM)
    if not len(bent):
        return slice(None), None
    first = int(bent[0])
    return slice(0, first), slice(first - 1, None)


def _slid_mm(wing: Path, region: Region) -> float:
    run, beyond = _parts(wing)
    beside = region.distance_mm(wing.points_mm[run], HIGH_BODIES) if len(wing.points_mm[run]) > 1 else math.inf
    return beside if beyond is None else min(beside, region.distance_mm(wing.points_mm[beyond]))


def _swung_mm(wing: Path, stroke: Stroke, bodies: Sequence[Body]) -> float:
    least = math.inf
    for rows, names in zip(_parts(wing), (HIGH_BODIES, None), strict=True):
        if rows is not None and len(wing.points_mm[rows]) > 1:
            piece = Path(wing.points_mm[rows], wing.normals[rows], wing.spans[rows])
            outline = piece.outline_mm(stroke.thickness_mm)
            counted = (body for body in bodies if names is None or body.name in names)
            least = through_stroke_mm(outline, stroke, *counted, below_mm=least)
    return least
