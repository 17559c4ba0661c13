"""Everything a tool stack sweeps through in the frame of a wing: one forbidden region for a whole stroke.

A wing is rigid while it swings, so "does it meet a tool anywhere in the stroke" is one still question: does the wing
meet the union of all positions of the tools seen from the wing. That union is built from the bodies at the start and,
for every edge and step, the hull of the edge's two positions. What the hulls miss of a curved path is at most |p''|
step^2 / 8; steps are chosen per edge so that this stays below `BULGE_MM`, and the region is inflated by it, so that
nothing is missed. Source: derived here; the error of a chord by Taylor's formula, textbook.
"""

import math
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.bodies import Body, Outline, outline_of
from flangewise.clearance.region import (
    ALL_MOMENTS,
    BULGE_MM,
    CHORD_MM,
    COARSE_MM,
    SAMPLES,
    Geometries,
    Region,
    Still,
    Sweep,
    alone,
)
from flangewise.clearance.stroke import Stroke
from flangewise.geometry import Points
from flangewise.records import altered

CONTACT_MM = 0.05
LEAST_STEPS = 4
CHORDS = 1.005
# Bodies are cut off at whole steps beyond the part's reach, so that parts of about one size share their regions.
REACH_STEP_MM = 50.0


def grow_mm(thickness_mm: float) -> float:
    """Inflation of tools for the middle-surface test: t/2 less contact tolerance, plus the bulge bound."""
    return max(0.0, thickness_mm / 2 - CONTACT_MM) + BULGE_MM


@lru_cache(maxsize=512)
def within_reach(body: Body, reach_mm: float) -> tuple[Outline, ...]:
    """Outlines of what of a body lies in the square of half side `reach_mm` about the origin.

    Nothing farther than the part is long can be touched; cutting it off keeps the steps few.
    """
    if max(abs(value) for point in body.points_mm for value in point) <= reach_mm:
        return (body.points_mm,)
    square = shapely.box(-reach_mm, -reach_mm, reach_mm, reach_mm)
    cut = shapely.intersection(shapely.make_valid(shapely.Polygon(body.points_mm)), square)
    parts = [part for part in shapely.get_parts(cut) if part.geom_type == "Polygon" and not part.is_empty]
    return tuple(outline_of(shapely.get_coordinates(part.exterior)[:-1]) for part in parts)


@lru_cache(maxsize=1024)
def lies_within(one: Outline, other: Outline) -> bool:
    """Whether an outline lies within another."""
    own, whole = (shapely.make_valid(shapely.Polygon(each)) for each in (one, other))
    return bool(shapely.covered_by(own, whole))


class Swung(Sweep):
    """What one outline sweeps in the front wing's frame during an air bend."""

    def __init__(self, name: str, outline: Outline, stroke: Stroke, *, with_ram: bool) -> None:
        self.name = name
        self._with_ram, self._outline, self._stroke = with_ram, outline, stroke
        self._outline_mm = np.array(outline)

    def _seen(self, points_mm: Points, halves_deg: Points) -> Points:
        return self._stroke.seen_mm(points_mm, halves_deg, with_ram=self._with_ram)

    def _steps(self, corners_mm: Points, bulge_mm: float) -> Points:
        """Steps with which the path of each corner bulges no more than that between two of them."""
        poles, spread = _poles_mm(self._stroke, self._with_ram)
        far = np.linalg.norm(corners_mm[..., None, :] - poles, axis=-1).max(axis=-1) + spread
        steps: Points = np.ceil(math.radians(self._stroke.half_turn_deg) * np.sqrt(far / (8 * bulge_mm)))
        return steps

    @cached_property
    def pieces(self) -> Geometries:
        """The outline at the start, and what each edge sweeps from step to step."""
        steps = self._steps(self._outline_mm, BULGE_MM)
        steps = np.maximum(LEAST_STEPS, np.maximum(steps, np.roll(steps, -1))).astype(int)
        # Rounded up to powers of the square root of two, so that edges share positions.
        coarse = np.ceil(np.sqrt(2) ** np.ceil(2 * np.log2(steps))).astype(int)
        start = shapely.make_valid(shapely.Polygon(self._seen(self._outline_mm, np.zeros(1))[0]))
        found = [np.array([start], dtype=object)]
        for count in sorted(set(coarse.tolist())):
            halves = np.linspace(0.0, self._stroke.half_turn_deg, count + 1)
            found.append(_edge_hulls(self._seen(self._outline_mm, halves), coarse == count))
        pieces = np.concatenate(found)
        result: Geometries = pieces[~shapely.is_empty(pieces)]
        return result

    @cached_property
    def around(self) -> Geometries:
        """Triangles of the body from step to step, each pair of places in one hull."""
        corners = triangles_mm(self._outline)
        steps = np.maximum(2, 2 * np.ceil(self._steps(corners, COARSE_MM).max(axis=1) / 2)).astype(int)
        found = []
        for count in sorted(set(steps.tolist())):
            halves = np.linspace(0.0, self._stroke.half_turn_deg, count + 1)
            seen = self._seen(corners[steps == count].reshape(-1, 2), halves).reshape(count + 1, -1, 3, 2)
            found.append(np.concatenate([seen[:-1], seen[1:]], axis=2).reshape(-1, 6, 2))
        hulls: Geometries = shapely.convex_hull(shapely.linestrings(np.concatenate(found)))
        return hulls

    @cached_property
    def box_mm(self) -> tuple[Points, Points]:
        """Least and greatest coordinates of the corners from step to step."""
        count = max(2, int(self._steps(self._outline_mm, COARSE_MM).max()))
        seen = self._seen(self._outline_mm, np.linspace(0.0, self._stroke.half_turn_deg, count + 1))
        return seen.min(axis=(0, 1)), seen.max(axis=(0, 1))

    def inside(self, deep_mm: float = 0.0, moved_mm: float = 0.0, moments: slice = ALL_MOMENTS) -> Geometries:
        """The body at some moments, or what lies so deep in it."""
        sight = [each[moments] for each in _sampled(self._stroke, self._with_ram)]
        found = [
            shapely.polygons(self._stroke.seen_at(ring, *sight) - (moved_mm, 0.0))
            for ring in deep_in(self._outline, deep_mm)
        ]
        return np.concatenate([np.zeros(0, dtype=object), *found])

    def stills(self, deep_mm: float, moved_mm: float) -> tuple[Still, ...]:
        """The same in the body's own frame, where it stands still and the wing moves: drawn once for all strokes."""
        sights = _sights(self._stroke, self._with_ram, moved_mm)
        return tuple((area, sights) for area in _areas_in(self._outline, deep_mm))


@lru_cache(maxsize=1024)
def _sights(stroke: Stroke, with_ram: bool, moved_mm: float) -> Points:
    """How a wing that lies further out by `moved_mm` lies as bodies see it at some moments."""
    shifts_mm, turns = (each[:, 0] for each in _sampled(stroke, with_ram))
    return np.column_stack([turns, moved_mm * turns - shifts_mm])


@lru_cache(maxsize=256)
def _poles_mm(stroke: Stroke, with_ram: bool) -> tuple[Points, float]:
    """About what the paths of all bodies' points curve in a stroke."""
    return stroke.poles_mm(with_ram=with_ram)


@lru_cache(maxsize=256)
def _sampled(stroke: Stroke, with_ram: bool) -> tuple[Points, Points]:
    """How the front wing sees bodies at some moments of a stroke."""
    return stroke.sight(np.linspace(0.0, stroke.half_turn_deg, SAMPLES), with_ram=with_ram)


@lru_cache(maxsize=1024)
def deep_in(outline_mm: Outline, deep_mm: float) -> tuple[Points, ...]:
    """Outlines of what lies so deep in a body: the same at any moment, as a body is rigid.

    Arcs about inner corners are drawn by chords that lie outside by half a hundredth of their radius.
    """
    shape = shapely.make_valid(shapely.Polygon(outline_mm))
    left = shapely.buffer(shape, -CHORDS * deep_mm) if deep_mm else shape
    parts = (part for part in shapely.get_parts(left) if part.geom_type == "Polygon" and not part.is_empty)
    return tuple(shapely.get_coordinates(part.exterior)[:-1] for part in parts)


@lru_cache(maxsize=1024)
def _areas_in(outline_mm: Outline, deep_mm: float) -> tuple[shapely.Geometry, ...]:
    return tuple(map(shapely.Polygon, deep_in(outline_mm, deep_mm)))


@lru_cache(maxsize=256)
def triangles_mm(outline_mm: Outline) -> Points:
    """A body cut into triangles, (triangles, 3, 2), its arcs drawn no finer than `CHORD_MM`."""
    shape = shapely.simplify(shapely.make_valid(shapely.Polygon(outline_mm)), CHORD_MM)
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    corners: Points = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    return corners


def _edge_hulls(placed: Points, edges: NDArray[np.bool_]) -> Geometries:
    """What chosen edges of an outline sweep from place to place: (places, corners, 2)."""
    following = np.roll(placed, -1, axis=1)
    before, after = (placed[:-1, edges], following[:-1, edges]), (placed[1:, edges], following[1:, edges])
    start_a, start_b, end_a, end_b = (part.reshape(-1, 2) for part in (*before, *after))
    return hulls_of(*_untwisted(start_a, start_b, end_a=end_a, end_b=end_b))


def hulls_of(*corners: Points) -> NDArray[np.object_]:
    """What edges sweep on straight ways: the hull of each four of corners, given as four arrays (..., 2)."""
    stacked = np.stack(corners, axis=-2).reshape(-1, len(corners), 2)
    result: NDArray[np.object_] = shapely.convex_hull(shapely.linestrings(stacked))
    return result


def swept_straight(first_mm: Points, last_mm: Points) -> NDArray[np.object_]:
    """What the edges of a closed outline sweep on a straight way from one place to another."""
    return hulls_of(first_mm, np.roll(first_mm, -1, axis=0), np.roll(last_mm, -1, axis=0), last_mm)


def swept_line(points_mm: Points, move_mm: Points) -> NDArray[np.object_]:
    """What the pieces of a line sweep on a straight way."""
    return hulls_of(points_mm[:-1], points_mm[1:], points_mm[1:] + move_mm, points_mm[:-1] + move_mm)


def _untwisted(start_a: Points, start_b: Points, *, end_a: Points, end_b: Points) -> tuple[Points, ...]:
    """Edges before and after a step, with those that cross themselves cut in three.

    An edge that turns about a point of its own sweeps two triangles; the hull of its two positions would
    be far too much. Let X be the crossing, at fraction f0 of the first and f1 of the second position:
    what lies below both fractions stays in the triangle (a, a', X), what lies above both in (b, b', X),
    and what lies between in the sliver (X, first at f1, second at f0).
    """
    along, turned, gap = start_b - start_a, end_b - end_a, end_a - start_a
    cross = along[:, 0] * turned[:, 1] - along[:, 1] * turned[:, 0]
    divide = np.where(np.abs(cross) > 1e-15, cross, np.inf)
    first = ((gap[:, 0] * turned[:, 1] - gap[:, 1] * turned[:, 0]) / divide)[:, None]
    second = ((gap[:, 0] * along[:, 1] - gap[:, 1] * along[:, 0]) / divide)[:, None]
    twisted = ((first > 0) & (first < 1) & (second > 0) & (second < 1))[:, 0]
    meet = start_a + first * along
    early, late = start_a + second * along, end_a + first * turned
    plain = ~twisted

    def gathered(whole: Points, *parts: Points) -> Points:
        return np.concatenate([whole[plain], *(part[twisted] for part in parts)])

    return (
        gathered(start_a, start_a, start_b, early),
        gathered(start_b, meet, meet, meet),
        gathered(end_b, meet, meet, meet),
        gathered(end_a, end_a, end_b, late),
    )


def swept_region(bodies: tuple[Body, ...], stroke: Stroke, *, reach_mm: float) -> Region:
    """Forbidden region of the front wing over a whole stroke (for the wing behind: give turned bodies).

    `reach_mm` bounds how far the wing goes from the zone's edge. The same question is answered by the same region, for
    any part of about that size, as long as not too many others were asked between.
    """
    deep = abs(float(stroke.depth_mm(stroke.half_turn_deg)))
    far = reach_mm + stroke.zone_mm + stroke.opening_mm + stroke.thickness_mm + deep
    return _swept_within(bodies, stroke, REACH_STEP_MM * math.ceil(far / REACH_STEP_MM))


@lru_cache(maxsize=192)
def _swept_within(bodies: tuple[Body, ...], stroke: Stroke, far_mm: float) -> Region:
    """The same of what of the bodies lies within a whole step of reach."""
    seen = _seen_from(stroke)
    sweeps = (_swung(body, outline, seen) for body in bodies for outline in within_reach(body, far_mm))
    return Region(sweeps, grow_mm(stroke.thickness_mm))


def swung_alone(body: Body, stroke: Stroke, *, reach_mm: float) -> tuple[Region, ...]:
    """The same of one body, each outline of it by itself: what of it lies within that reach, in whole steps."""
    far_mm = REACH_STEP_MM * math.ceil(reach_mm / REACH_STEP_MM)
    keep_mm = grow_mm(stroke.thickness_mm)
    seen = _seen_from(stroke)
    return tuple(alone(_swung(body, outline, seen), keep_mm) for outline in within_reach(body, far_mm))


@lru_cache(maxsize=256)
def _seen_from(stroke: Stroke) -> tuple[Stroke, Stroke]:
    """A stroke as what stands is seen in it, and as what goes with the ram is: from there a wing is seen alike over any
    die, as the nose lies on the arc's inside, at the radius from its centre."""
    return stroke, altered(stroke, opening_mm=0.0, shoulder_radius_mm=0.0)


def _swung(body: Body, outline: Outline, seen: tuple[Stroke, Stroke]) -> Swung:
    return _swung_once(body.name, outline, seen[body.with_ram], with_ram=body.with_ram)


@lru_cache(maxsize=4096)
def _swung_once(name: str, outline: Outline, stroke: Stroke, *, with_ram: bool) -> Swung:
    return Swung(name, outline, stroke, with_ram=with_ram)
