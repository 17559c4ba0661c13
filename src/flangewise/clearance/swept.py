"""Everything a tool stack sweeps through in the frame of a wing: one forbidden region for a whole stroke.

A wing is rigid while it swings, so "does it meet a tool anywhere in the stroke" is one still question:
does the wing meet the union of all positions of the tools seen from the wing. That union is built from
the bodies at the start and, for every edge and step, the hull of the edge's two positions. What the
hulls miss of a curved path is at most |p''| step^2 / 8; steps are chosen per edge so that this stays
below `BULGE_MM`, and the region is inflated by it, so that nothing is missed.

It is asked in three steps that answer alike. Around the union lies a coarse one of few hulls, inflated by
what they miss: clear of it is clear. Inside it lie the bodies at some moments: touching them is struck.
Only between the two the hulls of the edges are made, body by body.
Source: derived here; the error of a chord by Taylor's formula, textbook.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache
from typing import Protocol

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.bodies import Body, Outline, outline_of
from flangewise.clearance.stroke import Stroke
from flangewise.geometry import Points

Geometries = NDArray[np.object_]

BULGE_MM = 0.02
CONTACT_MM = 0.05
LEAST_STEPS = 4
ROUND_SEGMENTS = 16
# What the coarse hulls may miss, and how far their corners may lie from an arc of the body.
COARSE_MM = 0.25
CHORD_MM = 0.03
MARGIN_MM = COARSE_MM + CHORD_MM + BULGE_MM
# From so many questions on the union of the coarse hulls is made, which costs more at first and less for each.
MANY_LINES = 600
SAMPLES = 9
DEPTH_STEP_MM = 0.25
# Bodies are cut off at whole steps beyond the part's reach, so that parts of about one size share their regions.
REACH_STEP_MM = 50.0


class Sweep(Protocol):
    """What one body sweeps: `pieces` whose union it is but for `BULGE_MM`, coarser ones around, and moments inside."""

    name: str

    @property
    def pieces(self) -> Geometries:
        """All of it."""

    @property
    def around(self) -> Geometries:
        """Few pieces that hold it, but for `MARGIN_MM`."""

    @property
    def inside(self) -> Geometries:
        """What surely lies in it."""


class Forbidden(Protocol):
    """What a wing must keep clear of, asked by its lines."""

    def meets(self, points_mm: Points) -> NDArray[np.bool_]:
        """For each polyline, given as (lines, points, 2): does it meet."""

    def near(self, points_mm: Points) -> NDArray[np.bool_]:
        """For each set of corners: may anything within their hull meet."""


class Region:
    """What is forbidden to the middle surface of one wing: what the bodies sweep, grown by half the sheet.

    Grown by t/2 less the contact tolerance of 0.05 mm, which lets the true contact at nose and shoulders
    pass, plus the bulge bound. Not to be shared between threads.
    """

    def __init__(self, sweeps: Sequence[Sweep], grow_mm: float) -> None:
        """A region of what bodies sweep and the distance to keep from it; nothing is drawn before it is asked."""
        self.sweeps = tuple(sweeps)
        self.grow_mm = grow_mm
        self._asked = 0
        self._by_name: dict[str, shapely.Geometry] = {}
        self._trees: dict[int, shapely.STRtree] = {}
        self._shrunk: dict[tuple[float, float], Shrunk] = {}

    @cached_property
    def pieces(self) -> Geometries:
        """The swept pieces."""
        return _all(sweep.pieces for sweep in self.sweeps)

    @cached_property
    def forbidden(self) -> shapely.Geometry:
        """The union of all, grown and prepared for many tests."""
        return self._grown(self.pieces)

    @cached_property
    def bare(self) -> shapely.Geometry:
        """The union of the swept pieces as they are, not grown."""
        return shapely.union_all(self.pieces)

    def _grown(self, pieces: Geometries) -> shapely.Geometry:
        grown = shapely.buffer(shapely.union_all(pieces), self.grow_mm, quad_segs=ROUND_SEGMENTS)
        shapely.prepare(grown)
        return grown

    @cached_property
    def _around(self) -> Geometries:
        return _all(sweep.around for sweep in self.sweeps)

    @cached_property
    def _owners(self) -> NDArray[np.int64]:
        """To which sweep each piece around belongs."""
        return np.repeat(np.arange(len(self.sweeps)), [len(sweep.around) for sweep in self.sweeps])

    @cached_property
    def _around_tree(self) -> shapely.STRtree:
        return shapely.STRtree(self._around)

    @cached_property
    def _inside_tree(self) -> shapely.STRtree:
        return shapely.STRtree(_all(sweep.inside for sweep in self.sweeps))

    @cached_property
    def _around_all(self) -> shapely.Geometry:
        """A polygon about a circle of few corners lies outside it by 4 % at most."""
        wide = shapely.buffer(shapely.union_all(self._around), (self.grow_mm + MARGIN_MM) * 1.04, quad_segs=4)
        shapely.prepare(wide)
        return wide

    def _tree(self, sweep: int) -> shapely.STRtree:
        if sweep not in self._trees:
            self._trees[sweep] = shapely.STRtree(self.sweeps[sweep].pieces)
        return self._trees[sweep]

    def meets(self, points_mm: Points) -> NDArray[np.bool_]:
        """For each polyline, given as (lines, points, 2): does it meet the region."""
        lines = shapely.linestrings(points_mm)
        met = self._is_near(lines)
        near = np.flatnonzero(met)
        if len(near):
            left = near[~_within(self._inside_tree, lines[near], self.grow_mm - BULGE_MM)]
            met[left] = self._meets_exactly(lines[left])
        return met

    def near(self, points_mm: Points) -> NDArray[np.bool_]:
        """For each set of corners: may anything within their hull meet the region."""
        return self._is_near(shapely.convex_hull(shapely.linestrings(points_mm)))

    def _is_near(self, shapes: Geometries) -> NDArray[np.bool_]:
        self._asked += len(shapes)
        if self._asked > MANY_LINES:
            result: NDArray[np.bool_] = shapely.intersects(self._around_all, shapes)
            return result
        return _within(self._around_tree, shapes, self.grow_mm + MARGIN_MM)

    def shrunk(self, slack_mm: float, moved_mm: float) -> Shrunk:
        """What a wing surely meets that lies further out by `moved_mm`, and so far from there at most; kept."""
        if (slack_mm, moved_mm) not in self._shrunk:
            self._shrunk[slack_mm, moved_mm] = Shrunk(self, slack_mm, moved_mm)
        return self._shrunk[slack_mm, moved_mm]

    def _meets_exactly(self, lines: Geometries) -> NDArray[np.bool_]:
        met = np.zeros(len(lines), dtype=bool)
        rows, pieces = self._around_tree.query(lines, predicate="dwithin", distance=self.grow_mm + MARGIN_MM)
        for sweep in np.unique(self._owners[pieces]):
            open_rows = np.unique(rows[self._owners[pieces] == sweep])
            open_rows = open_rows[~met[open_rows]]
            met[open_rows] = _within(self._tree(int(sweep)), lines[open_rows], self.grow_mm)
        return met

    def struck(self, points_mm: Points) -> tuple[tuple[str, float], ...]:
        """Bodies one polyline meets, with how deep it lies in what each of them forbids, deepest first.

        The depth is the largest distance of a point of the line inside to the outside: how far the part
        would have to give way.
        """
        line = shapely.LineString(points_mm)
        met = [
            sweep.name
            for n, sweep in enumerate(self.sweeps)
            if _within(self._tree(n), np.array([line]), self.grow_mm)[0]
        ]
        found = []
        for name in dict.fromkeys(met):
            if name not in self._by_name:
                self._by_name[name] = self._grown(_all(sweep.pieces for sweep in self.sweeps if sweep.name == name))
            grown = self._by_name[name]
            inside = shapely.segmentize(shapely.intersection(line, grown), DEPTH_STEP_MM)
            points = shapely.points(shapely.get_coordinates(inside))
            if len(points):
                found.append((name, float(shapely.distance(grown.boundary, points).max())))
        return tuple(sorted(found, key=lambda item: -item[1]))

    def distance_mm(self, points_mm: Points, names: Sequence[str] | None = None) -> float:
        """Least distance of one polyline from the swept bodies (of those names), infinite for none."""
        line, least = shapely.LineString(points_mm), math.inf
        chosen = [n for n, sweep in enumerate(self.sweeps) if names is None or sweep.name in names]
        rough = {n: float(shapely.distance(line, self.sweeps[n].around).min(initial=math.inf)) for n in chosen}
        for number in sorted(chosen, key=rough.__getitem__):
            if rough[number] - MARGIN_MM > least:
                break
            least = min(least, float(shapely.distance(line, self.sweeps[number].pieces).min(initial=math.inf)))
        return least


class Shrunk:
    """The bodies of a region at some moments, made smaller by what a wing may be off by: "free" may be wrong.

    What touches the bend itself is not looked at: there the sheet ends elsewhere with other tools.
    """

    def __init__(self, region: Region, slack_mm: float, moved_mm: float) -> None:
        """Nothing is drawn yet."""
        self._region, self._keep_mm, self._moved_mm = region, region.grow_mm - BULGE_MM - slack_mm, moved_mm

    @cached_property
    def _tree(self) -> shapely.STRtree:
        bodies = _all(sweep.inside for sweep in self._region.sweeps)
        if self._keep_mm < 0:
            bodies = shapely.buffer(bodies, self._keep_mm)
        return shapely.STRtree(bodies[~shapely.is_empty(bodies)])

    def meets(self, points_mm: Points) -> NDArray[np.bool_]:
        """For each polyline: does it surely meet the region."""
        met = _within(self._tree, shapely.linestrings(self._there(points_mm)), max(self._keep_mm, 0.0))
        away: NDArray[np.bool_] = np.any(points_mm[:, 0], axis=1)
        return met & away

    def _there(self, points_mm: Points) -> Points:
        moved: Points = points_mm + np.array([self._moved_mm, 0.0])
        return moved

    def near(self, points_mm: Points) -> NDArray[np.bool_]:
        """As for the region itself, which holds this one."""
        return self._region.near(self._there(points_mm))


def _all(parts: Iterable[Geometries]) -> Geometries:
    return np.concatenate([np.zeros(0, dtype=object), *parts])


def _within(tree: shapely.STRtree, shapes: Geometries, distance_mm: float) -> NDArray[np.bool_]:
    """Which shapes come as near as that to anything in a tree."""
    met = np.zeros(len(shapes), dtype=bool)
    met[tree.query(shapes, predicate="dwithin", distance=distance_mm)[0]] = True
    return met


def hull_mm(points_mm: Points) -> Points:
    """Corners of the convex hull of points."""
    corners: Points = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(points_mm)))
    return corners


def grow_mm(thickness_mm: float) -> float:
    """Inflation of tools for the middle-surface test: t/2 less contact tolerance, plus the bulge bound."""
    return max(0.0, thickness_mm / 2 - CONTACT_MM) + BULGE_MM


def within_reach(body: Body, reach_mm: float) -> list[Points]:
    """Outlines of what of a body lies in the square of half side `reach_mm` about the origin.

    Nothing farther than the part is long can be touched; cutting it off keeps the steps few.
    """
    if max(abs(value) for point in body.points_mm for value in point) <= reach_mm:
        return [np.array(body.points_mm, dtype=float)]
    square = shapely.box(-reach_mm, -reach_mm, reach_mm, reach_mm)
    cut = shapely.intersection(shapely.make_valid(shapely.Polygon(body.points_mm)), square)
    parts = [part for part in shapely.get_parts(cut) if part.geom_type == "Polygon" and not part.is_empty]
    return [shapely.get_coordinates(part.exterior)[:-1] for part in parts]


class Swung:
    """What one outline sweeps in the front wing's frame during an air bend."""

    def __init__(self, body: Body, outline_mm: Points, stroke: Stroke) -> None:
        """Nothing is drawn yet."""
        self.name = body.name
        self._with_ram, self._outline_mm, self._stroke = body.with_ram, outline_mm, stroke

    def _seen(self, points_mm: Points, halves_deg: Points) -> Points:
        return self._stroke.seen_mm(points_mm, halves_deg, with_ram=self._with_ram)

    def _steps(self, corners_mm: Points, bulge_mm: float) -> Points:
        """Steps with which the path of each corner bulges no more than that between two of them."""
        poles, spread = self._stroke.poles_mm(with_ram=self._with_ram)
        far = np.linalg.norm(corners_mm[..., None, :] - poles, axis=-1).max(axis=-1) + spread
        steps: Points = np.ceil(math.radians(self._stroke.half_turn_deg) * np.sqrt(far / (8 * bulge_mm)))
        return steps

    @cached_property
    def pieces(self) -> Geometries:
        """The outline at the start, and what each edge sweeps from step to step."""
        steps = self._steps(self._outline_mm, BULGE_MM)
        coarse = _coarse(np.maximum(LEAST_STEPS, np.maximum(steps, np.roll(steps, -1))).astype(int))
        start = shapely.make_valid(shapely.Polygon(self._seen(self._outline_mm, np.zeros(1))[0]))
        found = [np.array([start], dtype=object)]
        for count in np.unique(coarse):
            halves = np.linspace(0.0, self._stroke.half_turn_deg, count + 1)
            found.append(_edge_hulls(self._seen(self._outline_mm, halves), coarse == count))
        pieces = np.concatenate(found)
        result: Geometries = pieces[~shapely.is_empty(pieces)]
        return result

    @cached_property
    def around(self) -> Geometries:
        """Triangles of the body from step to step, each pair of places in one hull."""
        corners = triangles_mm(outline_of(self._outline_mm))
        steps = np.maximum(2, 2 * np.ceil(self._steps(corners, COARSE_MM).max(axis=1) / 2)).astype(int)
        found = []
        for count in np.unique(steps):
            halves = np.linspace(0.0, self._stroke.half_turn_deg, count + 1)
            seen = self._seen(corners[steps == count].reshape(-1, 2), halves).reshape(count + 1, -1, 3, 2)
            found.append(np.concatenate([seen[:-1], seen[1:]], axis=2).reshape(-1, 6, 2))
        hulls: Geometries = shapely.convex_hull(shapely.linestrings(np.concatenate(found)))
        return hulls

    @cached_property
    def inside(self) -> Geometries:
        """The body at some moments."""
        halves = np.linspace(0.0, self._stroke.half_turn_deg, SAMPLES)
        moments: Geometries = shapely.make_valid(shapely.polygons(self._seen(self._outline_mm, halves)))
        return moments


@lru_cache(maxsize=256)
def triangles_mm(outline_mm: Outline) -> Points:
    """A body cut into triangles, (triangles, 3, 2), its arcs drawn no finer than `CHORD_MM`."""
    shape = shapely.simplify(shapely.make_valid(shapely.Polygon(outline_mm)), CHORD_MM)
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    corners: Points = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    return corners


def _coarse(steps: NDArray[np.int64]) -> NDArray[np.int64]:
    """Step counts rounded up to powers of the square root of two, so that edges share positions."""
    rounded: NDArray[np.int64] = np.ceil(np.sqrt(2) ** np.ceil(2 * np.log2(steps))).astype(int)
    return rounded


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


@lru_cache(maxsize=192)
def swept_region(bodies: tuple[Body, ...], stroke: Stroke, *, reach_mm: float) -> Region:
    """Forbidden region of the front wing over a whole stroke (for the wing behind: give turned bodies).

    `reach_mm` bounds how far the wing goes from the zone's edge. The same question is answered by the same region, for
    any part, as long as not too many others were asked between.
    """
    deep = abs(float(stroke.depth_mm(stroke.half_turn_deg)))
    far = reach_mm + stroke.zone_mm + stroke.opening_mm + stroke.thickness_mm + deep
    far = REACH_STEP_MM * math.ceil(far / REACH_STEP_MM)
    sweeps = [Swung(body, outline, stroke) for body in bodies for outline in within_reach(body, far)]
    return Region(sweeps, grow_mm(stroke.thickness_mm))
