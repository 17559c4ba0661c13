"""The closer look at the stops: where exactly they touch, and whether the finger has room.

All here is in the frame of the wing behind: outward is +x, away from the bend toward the backgauge; up is
up; the middle of the sheet on the die is at y = 0 and the die top at y = -t/2.
"""

import math

import numpy as np

from flangewise.clearance import finger_obstacles
from flangewise.geometry import Path, Points
from flangewise.records import dataclass
from flangewise.sequence.arrays import Ints
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.gauging import stop_face_mm
from flangewise.sequence.hold import half_span_mm
from flangewise.sequence.moves import FLANGE, START
from flangewise.sequence.placing import FLAT, part_path, wing_paths
from flangewise.sequence.problem import Backgauge, Datum, SectionProblem
from flangewise.sequence.regions import stroke_of
from flangewise.sequence.solution import Gauging

HEIGHTS = 9
# An edge is pushed furthest within the first few degrees, and what hangs low swings out of the finger's height within
# one or two: looked at closely.
RISE_STEPS = 480
SAME_MM = 0.05
# A bend that turns further is touched on its fold, as a hem is.
HEM_DEG = 135.0
# A flange that runs outward by less than this share of its height stands square.
LEANS = 1e-6


@dataclass(frozen=True)
class StopContact:
    """A contact found, or what stood in the way of all: names of what the finger met."""

    gauging: Gauging | None
    obstacles: tuple[str, ...]


def contact(problem: SectionProblem, way: Candidate, done: int, *, datum: int) -> StopContact:
    """Where the stops touch for a way of doing an operation, or what is in their way.

    Heights are tried from the one that puts the contact on the middle of the stop face outward.
    """
    gauge = problem.gauge
    if gauge is None:
        return StopContact(None, ())
    # The wing behind, flat, measured from the bend line.
    half_mm = half_span_mm(problem, problem.operations[way.operation])
    wing = wing_paths(problem, way, done)[1].placed(rotate_deg=0.0, to_mm=(half_mm, 0.0))
    spot = _spot(problem, way, wing, done=done, datum=datum)
    obstacles: dict[str, None] = {}
    for height in _heights(gauge, spot, problem.chain.thickness_mm):
        found = _at_height(problem, way, wing, done=done, spot=spot, r_mm=height)
        if isinstance(found, Gauging):
            return StopContact(found, ())
        obstacles.update(dict.fromkeys(found))
    return StopContact(None, tuple(obstacles) or ("out of reach",))


@dataclass(frozen=True)
class _Spot:
    """What is to be touched: its span, its heights in the wing's frame, its slope."""

    span: int
    low_mm: float
    high_mm: float
    slope_deg: float
    datum: Datum


def _spot(problem: SectionProblem, way: Candidate, wing: Path, *, done: int, datum: int) -> _Spot:
    if datum != FLANGE:
        last = wing.points_mm[-1] - wing.points_mm[-2]
        slope = math.degrees(math.atan2(last[1], last[0]))
        height = float(wing.points_mm[-1, 1])
        return _Spot(int(wing.spans[-1]), height, height, slope, "start" if way.behind == START else "end")
    zone = _first_bent(problem, way, done)
    fold, face = 2 * zone + 1, 2 * (zone + 1 if way.behind != START else zone)
    is_hem = abs(problem.chain.turns_deg[zone]) > HEM_DEG
    heights = wing.points_mm[(wing.spans == fold) | (not is_hem) & (wing.spans == face), 1]
    low, high = float(heights.min()), float(heights.max())
    if is_hem:
        return _Spot(fold, (low + high) / 2, (low + high) / 2, 0.0, "flange")
    radius = problem.chain.middle_radius_mm(zone)
    low, high = (low + radius, high) if high > -low else (low, high - radius)
    return _Spot(face, low, high, 0.0, "flange")


def _first_bent(problem: SectionProblem, way: Candidate, done: int) -> int:
    """The zone nearest behind that is formed."""
    toward_end = way.behind != START
    others = range(way.operation + 1, len(problem.operations)) if toward_end else range(way.operation - 1, -1, -1)
    other = next(other for other in others if done >> other & 1)
    return problem.operations[other].zones[0 if toward_end else -1]


def _heights(gauge: Backgauge, spot: _Spot, thickness_mm: float) -> list[float]:
    """Heights of the finger's lower edge above the die top to be tried, best first."""
    face = stop_face_mm(gauge)
    low, high = spot.low_mm + thickness_mm / 2, spot.high_mm + thickness_mm / 2
    if spot.span % 2 == 0 and high > low:
        depth = min(gauge.contact_mm, high - low) / 2
        low, high = low + depth, high - depth
    least, most = max(gauge.r_min_mm, low - face), min(gauge.r_max_mm, high)
    if least > most:
        return []
    wished = float(np.clip((low + high) / 2 - face / 2, least, most))
    return sorted(dict.fromkeys([wished, *np.linspace(least, most, HEIGHTS).tolist()]), key=lambda r: abs(r - wished))


def _at_height(
    problem: SectionProblem, way: Candidate, wing: Path, *, done: int, spot: _Spot, r_mm: float
) -> Gauging | tuple[str, ...]:
    """The contact with the finger at one height, or what is wrong with it."""
    gauge, thickness = problem.gauge, problem.chain.thickness_mm
    assert gauge is not None
    low = r_mm - thickness / 2
    x, span = furthest_in_band(wing, thickness, low_mm=low, high_mm=low + stop_face_mm(gauge))
    if span != spot.span:
        return ("part",)
    if not gauge.x_min_mm <= x <= gauge.x_max_mm:
        return ("out of reach",)
    hit = problem.operations[way.operation].options[way.option].hits[0]
    finger = np.array(gauge.finger_mm) + np.array([-x, r_mm])
    part = part_path(problem, way, done, share=FLAT).outline_mm(thickness)
    base = max(hit.stack.levels_mm) if hit.kind == "offset" else 0.0
    found = finger_obstacles(finger, part, hit.stack.bodies, nose_mm=base + thickness)
    if found:
        return found
    zone = spot.span // 2 if spot.span % 2 else _first_bent(problem, way, done) if spot.datum == "flange" else None
    band = (r_mm, r_mm + max(up for _, up in gauge.finger_mm))
    retract = _retract_mm(problem, way, done, x_mm=x, band_mm=band)
    height_mm = r_mm + stop_face_mm(gauge) / 2
    # Whether the furthest place is the wing's own end, on a flange that leans outward.
    run, rise = np.abs(wing.points_mm[-1] - wing.points_mm[-2])
    corner_mm = float(wing.points_mm[-1, 0]) + thickness / 2 * abs(float(wing.normals[-1, 0]))
    at_end = bool(wing.spans[-1] == span and run > LEANS * rise and x > corner_mm - SAME_MM / 10)
    on_its_edge = spot.datum == "flange" and at_end
    return Gauging(spot.datum, zone, x, r_mm, retract, spot.slope_deg, height_mm, on_its_edge)


def furthest_in_band(path: Path, thickness_mm: float, *, low_mm: float, high_mm: float) -> tuple[float, int]:
    """Greatest x of the sheet's outline between two heights, and the span it belongs to; (-inf, -1) for none."""
    firsts, lasts, owners = _edges(path, thickness_mm)
    far = _clipped_far(firsts, lasts, low_mm, high_mm)
    best = float(far.max())
    if math.isinf(best):
        return -math.inf, -1
    return best, int(owners[int(np.argmax(far > best - 1e-9))])


def _edges(path: Path, thickness_mm: float) -> tuple[Points, Points, Ints]:
    """Beginnings and ends of the segments of the sheet's outline, its near end left open, and their spans."""
    half = path.normals * (thickness_mm / 2)
    upper, lower = path.points_mm + half, path.points_mm - half
    firsts = np.vstack([upper[:-1], lower[:-1], lower[-1:]])
    lasts = np.vstack([upper[1:], lower[1:], upper[-1:]])
    return firsts, lasts, np.concatenate([path.spans[1:], path.spans[1:], path.spans[-1:]])


def _clipped_far(firsts: Points, lasts: Points, low_mm: float, high_mm: float) -> Points:
    """Greatest x of the part of each segment between two heights, -inf for none; segments as (..., 2)."""
    rise = lasts[..., 1] - firsts[..., 1]
    level = np.abs(rise) < 1e-12
    steep = np.where(level, 1.0, rise)
    shares = np.sort(np.stack([(low_mm - firsts[..., 1]) / steep, (high_mm - firsts[..., 1]) / steep]), axis=0)
    inside = (firsts[..., 1] >= low_mm) & (firsts[..., 1] <= high_mm)
    start = np.where(level, 0.0, np.maximum(0.0, shares[0]))
    end = np.where(level, 1.0, np.minimum(1.0, shares[1]))
    run = lasts[..., 0] - firsts[..., 0]
    far = np.maximum(firsts[..., 0] + start * run, firsts[..., 0] + end * run)
    result: Points = np.where(np.where(level, inside, start <= end), far, -np.inf)
    return result


def _retract_mm(
    problem: SectionProblem, way: Candidate, done: int, *, x_mm: float, band_mm: tuple[float, float]
) -> float:
    """How far the wing behind pushes into the finger while it rises: the stop must go back by as much.

    A point at x, hanging h below the sheet, goes to x cos a + h sin a, at most sqrt(x^2 + h^2).
    """
    operation = problem.operations[way.operation]
    hit = operation.options[way.option].hits[0]
    if hit.kind != "swing":
        return 0.0
    stroke = stroke_of(problem.chain, operation, hit)
    _, behind = wing_paths(problem, way, done)
    halves = np.linspace(0.0, stroke.half_turn_deg, RISE_STEPS + 1)
    firsts, lasts, _ = _edges(behind, problem.chain.thickness_mm)
    # No point comes further than it is from the wing's own edge, and that one from the middle.
    reach_mm = np.maximum(*(np.hypot(ends[:, 0], ends[:, 1]) for ends in (firsts, lasts)))
    may = reach_mm + float(stroke.edge_mm(halves)[:, 0].max()) > x_mm + SAME_MM
    if not may.any():
        return 0.0
    firsts, lasts = firsts[may], lasts[may]
    far = _clipped_far(stroke.laid_mm(firsts, halves), stroke.laid_mm(lasts, halves), *band_mm)
    worst = max(x_mm, float(far.max()))
    return worst - x_mm if worst - x_mm > SAME_MM else 0.0
