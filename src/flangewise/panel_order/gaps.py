"""How near a panel comes to the tools and the machine through a hit, in space, where rows stand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flangewise.clearance import Prism, Solid, Stretches, least_apart_mm, prisms
from flangewise.panel_order.leaving import StandingRow, standing

if TYPE_CHECKING:
    from flangewise.panel_order.hit import SpaceHit


def clearance_mm(hit: SpaceHit, done: frozenset[int], row: StandingRow, die: StandingRow | None) -> float | None:
    """Least distance from sheet to tools and machine through the stroke, None if nothing counts.

    Counted is what lies beyond the faces beside the bend against every body, and these against what is above the punch:
    to punch and die they are meant to lie close. So is a bend that leads away from them, which lies on the die as they
    do, and what hangs on it over the die: from them, as from all, counts how far along the bed the rows could be moved.
    Within 0.1 mm of the true figure.
    """
    half_mm, least = hit.shapes.blank.thickness_mm / 2, along_the_bed_mm(hit.forbidden(done), row, die)
    for wing, behind in ((hit.front, False), (hit.behind, True)):
        punch, high, low = _tools(hit, row, die, behind=behind)
        beside: list[Solid] = []
        first: list[Solid] = []
        beyond: list[Solid] = []
        for face, state in wing.nodes(done):
            last = 1 << (len(wing.branches[face].path) - 1) if state else 0
            next_to = bool(state) and state == last and not wing.is_past_web(face)
            (first if next_to else beyond if state else beside).extend(wing.plates(face, state, half_mm))
            (beyond if state and not next_to else beside).extend(wing.bend(face, state, half_mm))
        for solids, tools in ((beyond, [*punch, *high, *low]), (first, [*punch, *high]), (beside, high)):
            least = least_apart_mm(solids, tools, hit.stroke, below_mm=least)
    return None if math.isinf(least) else least


def along_the_bed_mm(forbidden: Stretches, row: StandingRow, die: StandingRow | None) -> float:
    """How far rows stand from stretches in which they may not; infinite where there are none."""
    stands = [(run, forbidden.punch) for run in row.whole_runs_mm]
    stands += [(run, forbidden.foot) for run in row.runs_mm]
    stands += [] if die is None else [(run, forbidden.die) for run in die.runs_mm]
    return min(
        (max(start - high, low - end, 0.0) for (low, high), runs in stands for start, end in runs), default=math.inf
    )


def _tools(
    hit: SpaceHit, row: StandingRow, die: StandingRow | None, *, behind: bool
) -> tuple[list[Prism], list[Prism], list[Prism]]:
    """The punch, what is above it, and die and bed, as one wing sees them."""
    punch: list[Prism] = []
    high: list[Prism] = []
    low: list[Prism] = []
    for tool in standing(hit, row, die):
        body = tool.body.turned() if behind else tool.body
        kind = punch if body.name == "punch" else high if body.with_ram else low
        for run in tool.along_mm if tool.along_mm is not None else (None,):
            kind.extend(prisms(body, None if run is None else _seen(run, hit.shift_mm, behind=behind)))
    return punch, high, low


def _seen(run: tuple[float, float], shift_mm: float, *, behind: bool) -> tuple[float, float]:
    """A stretch of the bed on a wing's first axis."""
    low, high = run
    return (low - shift_mm, high - shift_mm) if behind else (shift_mm - high, shift_mm - low)
