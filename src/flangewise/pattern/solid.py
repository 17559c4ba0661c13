"""A folded blank as a body of plane facets: the skins of its faces, their rims, and its bends in chords."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from typing import Any

import numpy as np
import shapely

from flangewise.geometry import EdgeKind, Facet, Fold, Frame, Point, SpacePoints, bar
from flangewise.pattern.flat_pattern import BendZone, Blank, FlatFace
from flangewise.pattern.folded import folded

# A bend is drawn in chords of at least so many degrees; a rounded edge of a cut-out alike.
CHORD_DEG = 15.0
# Curves of faces are drawn in chords no further off than this.
ROUND_MM = 0.1
# A point so near to the edge of a zone lies on it.
ON_MM = 0.02
CONVEX = -1e-9
# Bends turned less than this are flat.
FLAT_DEG = 1e-6
# Corners nearer to each other than this are one.
POINT_MM = 1e-6

Part = tuple[tuple[int, ...], tuple[bool, ...]]


def part_facets(
    blank: Blank, *, done: Collection[int] | None = None, root: int = 1, stand: Frame | None = None
) -> tuple[Facet, ...]:
    """The facets of a blank with the bends in `done` bent (all of them, if left out), face `root` where `stand` is."""
    fold = folded(blank, done=done, root=root, stand=stand)
    facets: list[Facet] = []
    for face in blank.faces:
        facets += _face(blank, face, fold)
    for at, zone in enumerate(blank.zones):
        for run in zone.runs_mm:
            facets += _bend(zone, at, fold, *(math.dist(zone.line_mm[0], end) for end in run))
    return tuple(facets)


def bar_facets(outline_mm: Sequence[Point], from_mm: float, to_mm: float) -> list[Facet]:
    """A body of one outline (across, up), counterclockwise, that reaches along the bed from one place to another."""
    ring = np.array(outline_mm)

    def at(along_mm: float) -> SpacePoints:
        return np.column_stack([np.full(len(ring), along_mm), ring])

    # Seen from the right end the outline runs counterclockwise: across to the right of the eye, up is up.
    return bar(at(from_mm), at(to_mm), convex_parts([tuple(map(tuple, ring.tolist()))]))


def _face(blank: Blank, face: FlatFace, fold: Fold) -> Iterator[Facet]:
    zones = [zone for zone in blank.zones if face.number in (zone.face_from, zone.face_to)]
    own = [hole for hole in blank.holes if hole.face == face.number]
    outer = shapely.Polygon(face.outline_mm).simplify(ROUND_MM / 2)
    holes = []
    for hole in own:
        shape = (
            shapely.Polygon(hole.corners_mm) if hole.diameter_mm is None else _circle(hole.centre_mm, hole.diameter_mm)
        )
        if outer.contains(shape):
            holes.append(_ring(shape.simplify(ROUND_MM / 2), clockwise=True))
    rings = [_split(_ring(outer), zones), *holes]
    points = [point for ring in rings for point in ring]
    hinged = _hinged(rings, zones, fold, blank)
    half_mm = blank.thickness_mm / 2
    under, over = (fold.folded_mm(face.number, points, up_mm=up) for up in (-half_mm, half_mm))
    for places, outer_edges in convex_parts(rings):
        kinds: tuple[EdgeKind, ...] = tuple(
            "none" if not own_edge else hinged.get(place, "sharp")
            for place, own_edge in zip(places, outer_edges, strict=True)
        )
        yield Facet(over[list(places)], kinds)
        yield Facet(under[list(places[::-1])], (*kinds[-2::-1], kinds[-1]))
    begins = 0
    for ring in rings:
        for at in range(len(ring)):
            here, there = begins + at, begins + (at + 1) % len(ring)
            if here not in hinged:
                corners = np.array([under[here], under[there], over[there], over[here]])
                yield Facet(corners, ("sharp", _corner(ring, at + 1), "sharp", _corner(ring, at)))
        begins += len(ring)


def _corner(ring: Sequence[Point], at: int) -> EdgeKind:
    """What stands upright at a corner: an edge, or nothing on a curve."""
    (ax, ay), (x, y), (bx, by) = ring[(at - 1) % len(ring)], ring[at % len(ring)], ring[(at + 1) % len(ring)]
    turned = math.atan2((x - ax) * (by - y) - (y - ay) * (bx - x), (x - ax) * (bx - x) + (y - ay) * (by - y))
    return "sharp" if abs(math.degrees(turned)) > 2 * CHORD_DEG else "none"


def _circle(centre: Point, diameter_mm: float) -> Any:
    return shapely.Polygon(
        [
            (centre[0] + diameter_mm / 2 * math.cos(angle), centre[1] + diameter_mm / 2 * math.sin(angle))
            for angle in np.radians(np.arange(0.0, 360.0, CHORD_DEG))
        ]
    )


def _ring(polygon: Any, *, clockwise: bool = False) -> list[Point]:
    turned = shapely.orient_polygons(polygon, exterior_cw=clockwise)
    return [(float(x), float(y)) for x, y in turned.exterior.coords[:-1]]


def _on_zone(zone: BendZone, point: Point) -> tuple[float, float]:
    """A point in the frame of a zone: along its line from its first end, and to its left."""
    (x, y), (to_x, to_y) = zone.line_mm
    long_mm = math.dist(*zone.line_mm)
    dx, dy = (to_x - x) / long_mm, (to_y - y) / long_mm
    return (point[0] - x) * dx + (point[1] - y) * dy, (point[1] - y) * dx - (point[0] - x) * dy


def _lies_on(zone: BendZone, here: Point, there: Point) -> bool:
    half_mm = zone.allowance.allowance_mm / 2
    return all(abs(abs(_on_zone(zone, each)[1]) - half_mm) < ON_MM for each in (here, there))


def _split(ring: Sequence[Point], zones: Sequence[BendZone]) -> list[Point]:
    """The ring with points where the runs of zones begin and end on its edges."""
    split: list[Point] = []
    for here, there in zip(ring, (*ring[1:], ring[0]), strict=True):
        split.append(here)
        cuts: list[float] = []
        for zone in (each for each in zones if _lies_on(each, here, there)):
            first, last = (_on_zone(zone, each)[0] for each in (here, there))
            ends = [math.dist(zone.line_mm[0], end) for run in zone.runs_mm for end in run]
            cuts += [
                (end - first) / (last - first)
                for end in ends
                if min(first, last) + ON_MM < end < max(first, last) - ON_MM
            ]
        split += [
            (here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1])) for share in sorted(cuts)
        ]
    return split


def _hinged(
    rings: Sequence[Sequence[Point]], zones: Sequence[BendZone], fold: Fold, blank: Blank
) -> dict[int, EdgeKind]:
    """The places of ring edges at which a bend goes on, and what is drawn there: nothing while it is flat."""
    found: dict[int, EdgeKind] = {}
    turns = {zone.bend: turn for zone, turn in zip(blank.zones, fold.turns_deg, strict=True)}
    begins = 0
    for ring in rings:
        for at, (here, there) in enumerate(zip(ring, (*ring[1:], ring[0]), strict=True)):
            for zone in zones:
                middle_mm = (_on_zone(zone, here)[0] + _on_zone(zone, there)[0]) / 2
                runs = [[math.dist(zone.line_mm[0], end) for end in run] for run in zone.runs_mm]
                if _lies_on(zone, here, there) and any(low < middle_mm < high for low, high in runs):
                    found[begins + at] = "none" if abs(turns[zone.bend]) < FLAT_DEG else "smooth"
        begins += len(ring)
    return found


def convex_parts(rings: Sequence[Sequence[Point]]) -> list[Part]:
    """A ring counterclockwise with holes clockwise in convex parts: places of the corners, counted on through all
    rings, and of each edge whether it is one of the rings'.

    Triangles are joined as long as what comes is convex. Source: Hertel and Mehlhorn 1983, from memory.
    """
    points = [point for ring in rings for point in ring]
    own: set[tuple[int, int]] = set()
    begins = 0
    for ring in rings:
        own |= {(begins + at, begins + (at + 1) % len(ring)) for at in range(len(ring))}
        begins += len(ring)
    if len(rings) == 1 and _is_convex(points, tuple(range(len(points)))):
        return [(tuple(range(len(points))), (True,) * len(points))]
    places = {(round(x, 6), round(y, 6)): at for at, (x, y) in enumerate(points)}
    polygon = shapely.Polygon(rings[0], rings[1:])
    parts: list[tuple[int, ...]] = []
    for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)):
        ring = shapely.orient_polygons(triangle).exterior.coords[:-1]
        parts.append(tuple(places[round(x, 6), round(y, 6)] for x, y in ring))
    merged = True
    while merged:
        merged = False
        by_edge = {edge: at for at, part in enumerate(parts) for edge in zip(part, (*part[1:], part[0]), strict=True)}
        for (one, other), at in by_edge.items():
            beyond = by_edge.get((other, one))
            if beyond is None or beyond == at:
                continue
            joined = _joined(parts[at], parts[beyond], one, other)
            if _is_convex(points, joined):
                parts = [part for place, part in enumerate(parts) if place not in (at, beyond)]
                parts.append(joined)
                merged = True
                break
    return [(part, tuple(edge in own for edge in zip(part, (*part[1:], part[0]), strict=True))) for part in parts]


def _joined(part: tuple[int, ...], beyond: tuple[int, ...], one: int, other: int) -> tuple[int, ...]:
    """Two parts without the edge between them, which runs from `one` to `other` in the first."""
    at, there = part.index(other), beyond.index(one)
    return (*part[at:], *part[:at], *((*beyond[there:], *beyond[:there])[1:-1]))


def _is_convex(points: Sequence[Point], part: Sequence[int]) -> bool:
    corners = [points[place] for place in part]
    around = zip((corners[-1], *corners[:-1]), corners, (*corners[1:], corners[0]), strict=True)
    return all((x - ax) * (by - y) - (y - ay) * (bx - x) >= CONVEX for (ax, ay), (x, y), (bx, by) in around)


def _bend(zone: BendZone, at: int, fold: Fold, from_mm: float, to_mm: float) -> Iterator[Facet]:
    """A stretch of a bend: both skins in chords, and its ends."""
    turn_deg = abs(fold.turns_deg[at])
    flat = turn_deg < FLAT_DEG
    chords = 1 if flat else max(2, math.ceil(turn_deg / CHORD_DEG))
    half_mm = fold.thickness_mm / 2
    skins = []
    for up_mm, turned in ((half_mm, False), (-half_mm, True)):
        near, far = (fold.arc_mm(at, along, up_mm=up_mm, chords=chords) for along in (from_mm, to_mm))
        skins.append((near, far))
        if math.dist(near[0], near[1]) < POINT_MM:
            # A closed hem has no skin inside.
            continue
        facets = []
        for step in range(chords):
            corners = np.array([near[step], far[step], far[step + 1], near[step + 1]])
            outer: EdgeKind = "none" if flat else "smooth"
            kinds: tuple[EdgeKind, ...] = (
                outer if step == 0 else "none",
                "sharp",
                outer if step == chords - 1 else "none",
                "sharp",
            )
            facets.append(
                Facet(corners[::-1], (kinds[2], kinds[1], kinds[0], kinds[3])) if turned else Facet(corners, kinds)
            )
        yield from _with_neighbours(facets, turned=turned)
    (near_over, far_over), (near_under, far_under) = skins
    for step in range(chords):
        near_end = np.array([near_under[step + 1], near_under[step], near_over[step], near_over[step + 1]])
        far_end = np.array([far_under[step], far_under[step + 1], far_over[step + 1], far_over[step]])
        for corners in (near_end, far_end):
            if math.dist(corners[0], corners[1]) < POINT_MM:
                yield Facet(corners[1:], ("none", "sharp", "none"))
            else:
                yield Facet(corners, ("sharp", "none", "sharp", "none"))


def _with_neighbours(facets: Sequence[Facet], *, turned: bool) -> Iterator[Facet]:
    """The chords of a skin, each with the normals of the next ones beyond its long edges."""
    normals = [tuple(float(each) for each in facet.normal) for facet in facets]
    before, after = (2, 0) if turned else (0, 2)
    for step, facet in enumerate(facets):
        beside = []
        if step > 0:
            beside.append((before, normals[step - 1]))
        if step < len(facets) - 1:
            beside.append((after, normals[step + 1]))
        yield Facet(facet.corners_mm, facet.edges, tuple(beside))  # type: ignore[arg-type]
