"""What is forbidden to the middle surface of a wing, asked in three steps that answer alike.

Around what the bodies sweep lies a coarse union of few hulls, inflated by what they miss: clear of it is clear. Inside
it lie the bodies at some moments: touching them is struck. Only between the two the exact pieces are made, body by
body. Source: derived here.
"""

import math
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache, reduce
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.geometry import Points

Geometries = NDArray[np.object_]
# An area, and how it is seen at some moments, the last at the end: cosine and sine of what the wing is turned by, and
# what it is moved by then, across and up, for the area to stand still: (moments, 4).
Still = tuple[shapely.Geometry, Points]
AS_DRAWN: Points = np.array([[1.0, 0.0, 0.0, 0.0]])

BULGE_MM = 0.02
# What the coarse hulls may miss, and how far their corners may lie from an arc of the body.
COARSE_MM = 0.25
CHORD_MM = 0.03
MARGIN_MM = COARSE_MM + CHORD_MM + BULGE_MM
ROUND_SEGMENTS = 16
# From so many questions on the union of the coarse hulls is made, which costs more at first and less for each.
MANY_LINES = 600
DEPTH_STEP_MM = 0.25
# A circle drawn with eight corners holds the circle if its radius is so much longer.
FEW_CORNERS = 1.0824
# So many moments are looked at for what surely lies in what a body sweeps: all, or few.
SAMPLES, ALL_MOMENTS, FEW_MOMENTS = 9, slice(None), slice(None, None, 4)
# The bodies that stand there with any tools.
MACHINE = "ram", "bed"
# Bodies are shrunk by whole steps, so that the same are found again: the more they are the less they strike.
DEEP_STEP_MM = 0.05
# So many answers for other places of a wing are kept by a region.
MOST_KEPT = 96


class Sweep:
    """What one body sweeps: here on a straight way, so that hulls are exact and nothing coarser is needed."""

    def __init__(self, name: str, hulls: Geometries) -> None:
        self.name, self._hulls = name, hulls

    @cached_property
    def pieces(self) -> Geometries:
        """All of it, but for `BULGE_MM`."""
        return self._hulls

    @cached_property
    def around(self) -> Geometries:
        """Few pieces that hold it, but for `MARGIN_MM`."""
        return self.pieces

    @cached_property
    def box_mm(self) -> tuple[Points, Points]:
        """Least and greatest coordinates of what holds it, but for `COARSE_MM`."""
        return _box_mm(self.pieces)

    def inside(self, deep_mm: float = 0.0, moved_mm: float = 0.0, _moments: slice = ALL_MOMENTS) -> Geometries:
        """What surely lies in it, so deep, as a wing sees it that lies further out by `moved_mm`: here at once."""
        found = shapely.buffer(self.pieces, -deep_mm) if deep_mm else self.pieces
        return np.asarray(shapely.transform(found, lambda at: at - (moved_mm, 0.0)) if moved_mm else found)

    def stills(self, deep_mm: float, moved_mm: float) -> tuple[Still, ...]:
        """The same, each area drawn once for all moments."""
        return tuple((area, AS_DRAWN) for area in _left(self.inside(deep_mm, moved_mm)))


@lru_cache(maxsize=1024)
def _pieces_of(sweep: Sweep) -> shapely.STRtree:
    """What a body sweeps, one for all regions of which it is a part."""
    return shapely.STRtree(sweep.pieces)


@lru_cache(maxsize=256)
def _grown(sweeps: tuple[Sweep, ...], grow_mm: float) -> shapely.Geometry:
    """What is forbidden by one body, drawn together."""
    pieces = shapely.union_all(_all(sweep.pieces for sweep in sweeps))
    grown = shapely.buffer(pieces, grow_mm, quad_segs=ROUND_SEGMENTS)
    shapely.prepare(grown)
    return grown


class Region:
    """What is forbidden to the middle surface of one wing: what the bodies sweep, grown by half the sheet.

    Grown by t/2 less the contact tolerance of 0.05 mm, which lets the true contact at nose and shoulders
    pass, plus the bulge bound. Not to be shared between threads.
    """

    looks_beside_bend = True

    def __init__(self, sweeps: Iterable[Sweep], grow_mm: float) -> None:
        """A region of what bodies sweep and the distance to keep from it; nothing is drawn before it is asked."""
        self._given = sweeps
        self.grow_mm = grow_mm
        self._asked = 0
        self._inside: dict[tuple[float, float], shapely.STRtree] = {}
        self._shrunk: dict[tuple[float, float], Shrunk] = {}

    @cached_property
    def sweeps(self) -> tuple[Sweep, ...]:
        """What each body sweeps."""
        return tuple(self._given)

    @cached_property
    def parts(self) -> tuple["Region", ...]:
        """The same of each body by itself, one for all regions of which it is a part."""
        return tuple(alone(sweep, self.grow_mm) for sweep in self.sweeps)

    @cached_property
    def pieces(self) -> Geometries:
        """The swept pieces."""
        return _all(sweep.pieces for sweep in self.sweeps)

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

    def inside_tree(self, deep_mm: float = 0.0, moved_mm: float = 0.0) -> shapely.STRtree:
        """What surely lies in what the bodies sweep, so deep, as a wing sees it that lies further out."""
        if (deep_mm, moved_mm) not in self._inside:
            _forget(self._inside)
            bodies = _all(sweep.inside(deep_mm, moved_mm) for sweep in self.sweeps)
            self._inside[deep_mm, moved_mm] = shapely.STRtree(_left(bodies))
        return self._inside[deep_mm, moved_mm]

    @cached_property
    def _around_all(self) -> shapely.Geometry:
        """A polygon about a circle of few corners lies outside it by 4 % at most."""
        wide = shapely.buffer(shapely.union_all(self._around), (self.grow_mm + MARGIN_MM) * 1.04, quad_segs=4)
        shapely.prepare(wide)
        return wide

    def strikes(self, shapes: Geometries) -> NDArray[np.bool_]:
        """For each line or area: does it meet the region."""
        met = self._is_near(shapes)
        near = np.flatnonzero(met)
        if len(near):
            left = near[~_within(self.inside_tree(), shapes[near], self.grow_mm - BULGE_MM)]
            met[left] = self._meets_exactly(shapes[left])
        return met

    def may_strike(self, shapes: Geometries) -> NDArray[np.bool_]:
        """The same asked roughly: what is told to keep clear does, what comes within `MARGIN_MM` of it may not."""
        return self._is_near(shapes)

    @cached_property
    def shape(self) -> shapely.Geometry:
        """All of it as one area; its rounded corners stand out a little, by a tenth of what it is grown by."""
        grown = shapely.buffer(shapely.union_all(self.pieces), FEW_CORNERS * self.grow_mm, quad_segs=2)
        shapely.prepare(grown)
        return grown

    @cached_property
    def box_mm(self) -> tuple[Points, Points]:
        """Least and greatest coordinates of the region, and somewhat more."""
        return _box_about([(sweep.box_mm, 0.0) for sweep in self.sweeps], self.grow_mm + MARGIN_MM)

    def _is_near(self, shapes: Geometries) -> NDArray[np.bool_]:
        self._asked += len(shapes)
        if self._asked > MANY_LINES:
            result: NDArray[np.bool_] = shapely.intersects(self._around_all, shapes)
            return result
        return _within(self._around_tree, shapes, self.grow_mm + MARGIN_MM)

    def shrunk(self, slack_mm: float, moved_mm: float) -> "Shrunk":
        """What a wing surely meets that lies further out by `moved_mm`, and so far from there at most; kept."""
        if (slack_mm, moved_mm) not in self._shrunk:
            _forget(self._shrunk)
            self._shrunk[slack_mm, moved_mm] = Shrunk((self,), (moved_mm,), slack_mm)
        return self._shrunk[slack_mm, moved_mm]

    def _meets_exactly(self, lines: Geometries) -> NDArray[np.bool_]:
        met = np.zeros(len(lines), dtype=bool)
        rows, pieces = self._around_tree.query(lines, predicate="dwithin", distance=self.grow_mm + MARGIN_MM)
        for sweep in range(len(self.sweeps)):
            near = np.zeros(len(lines), dtype=bool)
            near[rows[self._owners[pieces] == sweep]] = True
            open_rows = np.flatnonzero(near & ~met)
            if len(open_rows):
                met[open_rows] = _within(_pieces_of(self.sweeps[sweep]), lines[open_rows], self.grow_mm)
        return met

    def struck(self, points_mm: Points) -> tuple[tuple[str, float], ...]:
        """Bodies one polyline meets, with how deep it lies in what each of them forbids, deepest first.

        The depth is the largest distance of a point of the line inside to the outside: how far the part
        would have to give way.
        """
        line = shapely.LineString(points_mm)
        lines = np.array([line])
        near = [sweep for sweep, part in zip(self.sweeps, self.parts, strict=True) if part.may_strike(lines)[0]]
        met = [sweep.name for sweep in near if _within(_pieces_of(sweep), lines, self.grow_mm)[0]]
        found = []
        for name in dict.fromkeys(met):
            grown = _grown(tuple(sweep for sweep in self.sweeps if sweep.name == name), self.grow_mm)
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
    """What surely meets every one of some regions of one body each, made smaller by what a wing may be off by: "free"
    may be wrong.

    What touches the bend itself is not looked at: there the sheet ends elsewhere with other tools.
    """

    looks_beside_bend = False

    def __init__(self, regions: Sequence[Region], moved_mm: Sequence[float], slack_mm: float) -> None:
        """`moved_mm`: how much further out the wing lies with each; `slack_mm`: how far from there at most."""
        self._seen = tuple(dict.fromkeys(zip(regions, moved_mm, strict=True)))
        keep_mm = regions[0].grow_mm - BULGE_MM - slack_mm
        self.keep_mm, self._deep_mm = max(keep_mm, 0.0), DEEP_STEP_MM * math.ceil(max(-keep_mm, 0.0) / DEEP_STEP_MM)

    @cached_property
    def name(self) -> str:
        """The body's."""
        return self._seen[0][0].sweeps[0].name

    @cached_property
    def stills(self) -> tuple[Still, ...]:
        """What at some moment is met by all that comes as near to it as `keep_mm`."""
        (region, moved_mm), *others = self._seen
        if not others:
            return region.sweeps[0].stills(self._deep_mm, moved_mm)
        return tuple((area, AS_DRAWN) for area in self._tree.geometries)

    @cached_property
    def _tree(self) -> shapely.STRtree:
        if not self._seen[1:]:
            return self._seen[0][0].inside_tree(self._deep_mm, self._seen[0][1])
        every = _in_all(self._seen)
        return shapely.STRtree(_left(shapely.buffer(every, -self._deep_mm) if self._deep_mm else every))

    def strikes(self, lines: Geometries) -> NDArray[np.bool_]:
        """For each line: does it surely meet all the regions."""
        return _within(self._tree, lines, self.keep_mm)

    @cached_property
    def box_mm(self) -> tuple[Points, Points]:
        """Least and greatest coordinates, and somewhat more."""
        # What lies in all lies in the box of each.
        boxes = [(*region.sweeps[0].box_mm, (moved_mm, 0.0)) for region, moved_mm in self._seen]
        wider_mm = COARSE_MM + self.keep_mm
        low, high = (low - moved for low, _, moved in boxes), (high - moved for _, high, moved in boxes)
        return reduce(np.maximum, low) - wider_mm, reduce(np.minimum, high) + wider_mm


@lru_cache(maxsize=4096)
def alone(sweep: Sweep, grow_mm: float) -> Region:
    """The region of one body."""
    return Region((sweep,), grow_mm)


@lru_cache(maxsize=64)
def _in_all(seen: tuple[tuple[Region, float], ...]) -> Geometries:
    """What lies in the one body of every region at some moment, as wings see it that lie further out by so much.

    They are held against each other at few moments: the most that they share.
    """
    shared: Geometries = np.zeros(0, dtype=object)
    for nth, (region, moved) in enumerate(seen):
        placed = region.sweeps[0].inside(0.0, moved, FEW_MOMENTS).reshape(-1, len(range(SAMPLES)[FEW_MOMENTS]))
        bodies = placed[0] if len(placed) == 1 else shapely.union_all(placed, axis=0)
        shared = _in_both(shared, bodies) if nth else bodies
    return shared


def _forget(kept: dict[tuple[float, float], Any]) -> None:
    """Make room for one more: a region is asked of many parts, each with a slack of its own."""
    if len(kept) >= MOST_KEPT:
        del kept[next(iter(kept))]


def _in_both(shared: Geometries, bodies: Geometries) -> Geometries:
    found = shared.copy()
    cut = ~shapely.covered_by(shared, bodies)
    found[cut] = shapely.intersection(shared[cut], bodies[cut])
    return found


# What a wing must keep clear of, asked by its lines.
Forbidden = Region | Shrunk


def _all(parts: Iterable[Geometries]) -> Geometries:
    return np.concatenate([np.zeros(0, dtype=object), *parts])


def _left(shapes: Geometries) -> Geometries:
    """Those of which something is left."""
    return np.asarray(shapes[~shapely.is_empty(shapes)])


def _box_mm(shapes: Geometries) -> tuple[Points, Points]:
    """Least and greatest coordinates of shapes; where there are none, none."""
    bounds = shapely.total_bounds(shapes) if len(shapes) else np.array([np.inf, np.inf, -np.inf, -np.inf])
    return bounds[:2], bounds[2:]


def _box_about(boxes: Iterable[tuple[tuple[Points, Points], float]], wider_mm: float) -> tuple[Points, Points]:
    """The box of boxes and somewhat more, each of them moved nearer by so much."""
    nearer = [(low - (moved, 0.0), high - (moved, 0.0)) for (low, high), moved in boxes]
    low, high = (np.array([*(each[side] for each in nearer), [none] * 2]) for side, none in ((0, np.inf), (1, -np.inf)))
    return low.min(axis=0) - wider_mm, high.max(axis=0) + wider_mm


def _within(tree: shapely.STRtree, shapes: Geometries, distance_mm: float) -> NDArray[np.bool_]:
    """Which shapes come as near as that to anything in a tree."""
    met = np.zeros(len(shapes), dtype=bool)
    met[tree.query(shapes, predicate="dwithin", distance=distance_mm)[0]] = True
    return met


def lines_of(points_mm: Points) -> Geometries:
    """Polylines, given as (lines, points, 2), as regions are asked of them."""
    return np.asarray(shapely.linestrings(points_mm))
