"""Everything a tool stack sweeps through in the frame of a wing: one forbidden region for a whole stroke.

A wing is rigid while it swings, so "does it meet a tool anywhere in the stroke" is one still question:
does the wing meet the union of all positions of the tools seen from the wing. That union is built from
the bodies at the start and, for every edge and step, the hull of the edge's two positions. What the
hulls miss of a curved path is at most |p''| step^2 / 8; steps are chosen per edge so that this stays
below `BULGE_MM`, and the region is inflated by it, so that nothing is missed.
Source: derived here; the error of a chord by Taylor's formula, textbook.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.bodies import Body
from flangewise.clearance.stroke import Stroke
from flangewise.geometry import Points

Pieces = list[tuple[str, shapely.Geometry]]

BULGE_MM = 0.02
CONTACT_MM = 0.05
LEAST_STEPS = 4
ROUND_SEGMENTS = 16
FEW_LINES = 8000
SAMPLES = 6
DEPTH_STEP_MM = 0.25


class Region:
    """What is forbidden to the middle surface of one wing: swept pieces grown by half the sheet.

    Grown by t/2 less the contact tolerance of 0.05 mm, which lets the true contact at nose and shoulders
    pass, plus the bulge bound. Few lines are tested against the pieces; for many their union is made
    once, which costs more at first and less for each line. Not to be shared between threads.
    """

    def __init__(self, make: Callable[[], Pieces], grow_mm: float, *, rough: Region | None = None) -> None:
        """A region of swept pieces, each with the name of its body, and the distance to keep from them.

        `make` makes the pieces when they are first needed. `rough` is a region inside this one that is
        cheap to make: what meets it needs no closer look.
        """
        self._make = make
        self.grow_mm = grow_mm
        self.rough = rough
        self._asked = 0
        self._by_name: dict[str, shapely.Geometry] = {}

    @property
    def made(self) -> bool:
        """Whether the pieces have been made."""
        return "_full" in vars(self)

    @cached_property
    def _full(self) -> Pieces:
        return [(name, piece) for name, piece in self._make() if not piece.is_empty]

    @cached_property
    def pieces(self) -> NDArray[np.object_]:
        """The swept pieces."""
        return np.array([piece for _, piece in self._full], dtype=object)

    @cached_property
    def names(self) -> NDArray[np.object_]:
        """The name of the body of each piece."""
        return np.array([name for name, _ in self._full], dtype=object)

    @cached_property
    def forbidden(self) -> shapely.Geometry:
        """The union of all, grown and prepared for many tests."""
        return self._grown(np.ones(len(self.pieces), dtype=bool))

    @cached_property
    def bare(self) -> shapely.Geometry:
        """The union of the swept pieces as they are, not grown."""
        return shapely.union_all(self.pieces)

    def _grown(self, chosen: NDArray[np.bool_]) -> shapely.Geometry:
        grown = shapely.buffer(shapely.union_all(self.pieces[chosen]), self.grow_mm, quad_segs=ROUND_SEGMENTS)
        shapely.prepare(grown)
        return grown

    @cached_property
    def _tree(self) -> shapely.STRtree:
        return shapely.STRtree(self.pieces)

    def meets(self, points_mm: Points) -> NDArray[np.bool_]:
        """For each polyline, given as (lines, points, 2): does it meet the region."""
        lines = shapely.linestrings(points_mm)
        self._asked += len(lines)
        if self._asked > FEW_LINES:
            result: NDArray[np.bool_] = shapely.intersects(self.forbidden, lines)
            return result
        met = np.zeros(len(lines), dtype=bool)
        if len(self.pieces):
            met[self._tree.query(lines, predicate="dwithin", distance=self.grow_mm)[0]] = True
        return met

    def struck(self, points_mm: Points) -> tuple[tuple[str, float], ...]:
        """Bodies one polyline meets, with how deep it lies in what each of them forbids, deepest first.

        The depth is the largest distance of a point of the line inside to the outside: how far the part
        would have to give way.
        """
        line = shapely.LineString(points_mm)
        found = []
        for name in dict.fromkeys(self.names[self._tree.query(line, predicate="dwithin", distance=self.grow_mm)]):
            grown = self._by_name.setdefault(name, None) or self._grown(self.names == name)
            self._by_name[name] = grown
            inside = shapely.segmentize(shapely.intersection(line, grown), DEPTH_STEP_MM)
            points = shapely.points(shapely.get_coordinates(inside))
            if len(points):
                found.append((str(name), float(shapely.distance(grown.boundary, points).max())))
        return tuple(sorted(found, key=lambda item: -item[1]))

    def distance_mm(self, points_mm: Points, names: Sequence[str] | None = None) -> float:
        """Least distance of one polyline from the swept bodies (of those names), infinite for none."""
        chosen = np.ones(len(self.names), bool) if names is None else np.isin(self.names, list(names))
        if not chosen.any():
            return float("inf")
        return float(shapely.distance(shapely.LineString(points_mm), self.pieces[chosen]).min())


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


def swept_by(outline_mm: Points, stroke: Stroke, *, with_ram: bool) -> list[shapely.Geometry]:
    """Pieces whose union is what one outline sweeps in the front wing's frame, but for the bulge."""
    poles, spread = stroke.poles_mm(with_ram=with_ram)
    total = math.radians(stroke.half_turn_deg)
    curve = np.linalg.norm(outline_mm[:, None, :] - poles[None, :, :], axis=2).max(axis=1) + spread
    far = np.maximum(curve, np.roll(curve, -1))
    steps = np.maximum(LEAST_STEPS, np.ceil(total * np.sqrt(far / (8 * BULGE_MM)))).astype(int)
    pieces = [shapely.make_valid(shapely.Polygon(stroke.seen_mm(outline_mm, 0.0, with_ram=with_ram)))]
    coarse = _coarse(steps)
    for count in np.unique(coarse):
        pieces.extend(_edge_hulls(outline_mm, stroke, int(count), edges=coarse == count, with_ram=with_ram))
    return pieces


def _coarse(steps: NDArray[np.int64]) -> NDArray[np.int64]:
    """Step counts rounded up to powers of the square root of two, so that edges share positions."""
    rounded: NDArray[np.int64] = np.ceil(np.sqrt(2) ** np.ceil(2 * np.log2(steps))).astype(int)
    return rounded


def _edge_hulls(
    outline_mm: Points, stroke: Stroke, steps: int, *, edges: NDArray[np.bool_], with_ram: bool
) -> list[shapely.Geometry]:
    angles = np.linspace(0.0, stroke.half_turn_deg, steps + 1)
    placed = stroke.seen_mm(outline_mm, angles, with_ram=with_ram)
    following = np.roll(placed, -1, axis=1)
    before, after = (placed[:-1, edges], following[:-1, edges]), (placed[1:, edges], following[1:, edges])
    start_a, start_b, end_a, end_b = (part.reshape(-1, 2) for part in (*before, *after))
    return list(hulls_of(*_untwisted(start_a, start_b, end_a=end_a, end_b=end_b)))


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


def swept_region(bodies: tuple[Body, ...], stroke: Stroke, *, reach_mm: float) -> Region:
    """Forbidden region of the front wing over a whole stroke (for the wing behind: give turned bodies).

    `reach_mm` bounds how far the wing goes from the zone's edge.
    """
    deep = abs(float(stroke.depth_mm(stroke.half_turn_deg)))
    far = reach_mm + stroke.zone_mm + stroke.opening_mm + stroke.thickness_mm + deep
    parts = [(body, outline) for body in bodies for outline in within_reach(body, far)]

    halves = np.linspace(0.0, stroke.half_turn_deg, SAMPLES)

    def sampled() -> Pieces:
        return [
            (body.name, shapely.make_valid(shapely.Polygon(seen)))
            for body, outline in parts
            for seen in stroke.seen_mm(outline, halves, with_ram=body.with_ram)
        ]

    def swept() -> Pieces:
        return [
            (body.name, piece) for body, outline in parts for piece in swept_by(outline, stroke, with_ram=body.with_ram)
        ]

    grow = grow_mm(stroke.thickness_mm)
    return Region(swept, grow, rough=Region(sampled, grow))
