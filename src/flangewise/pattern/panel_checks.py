"""What must be known of a panel's blank: faces that overlap flat or finished, reliefs missing, holes near bends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

import numpy as np
import shapely

from flangewise.findings import Finding, caution, place, refuse
from flangewise.geometry import Fold, Plate, Point, Points, SpacePoints, arc_chords, depth_mm, plate_of
from flangewise.pattern.flat_pattern import BendZone, FlatFace, FlatHole, PanelBlank
from flangewise.pattern.folded import folded
from flangewise.words import Phrase

# On this grid edges that lie on each other but for rounding are one; without it whole strips were lost in unions.
GRID_MM = 1e-5
LEAST_OVERLAP_MM2 = 1e-4
# A line so far outside the end of a bend must not run in sheet over more than this.
BESIDE_MM, LEAST_RUN_MM = 0.01, 0.05
# Skins that come so near touch: half of what a rule shows, taken off each skin.
CONTACT_MM = 0.05
# Clear of the bend zone, as holes of a section are (common practice).
ROUND_HOLE_THICKNESSES, SLOT_THICKNESSES = 2.0, 2.5
TOUCHING_MM = 1e-6


def ring_findings(face: FlatFace) -> Iterator[Finding]:
    """Where the reliefs or bends of a face run into each other, so that its flat part is no plain face."""
    polygon = shapely.Polygon(face.outline_mm) if len(face.outline_mm) > 2 else None
    if polygon is not None and polygon.is_valid and shapely.is_ccw(polygon.exterior) and polygon.area > 0:
        return
    at = _where_crossed(polygon, face.outline_mm)
    yield refuse("reliefs-meet", place("face", face.name), x_mm=at[0], y_mm=at[1])


def _where_crossed(polygon: Any, outline_mm: Sequence[Point]) -> Point:
    """Where a ring meets itself, else its first point."""
    told = "" if polygon is None else str(shapely.is_valid_reason(polygon))
    if "[" in told:
        x, y = told.partition("[")[2].rstrip("]").split()[:2]
        return float(x), float(y)
    return outline_mm[0]


def flat_findings(blank: PanelBlank) -> tuple[Finding, ...]:
    """Pieces that overlap on the blank, ends of bends beside sheet, holes off their face or near a bend."""
    pieces = pieces_of(blank)
    shapes = np.array([shape for _, shape in pieces])
    tree = shapely.STRtree(shapes)
    pairs = zip(*(each.tolist() for each in tree.query(shapes, predicate="intersects")), strict=True)
    told: list[Finding] = []
    for one, other in sorted(pair for pair in pairs if pair[0] < pair[1]):
        common = shapely.intersection(shapes[one], shapes[other], grid_size=GRID_MM)
        if common.area > LEAST_OVERLAP_MM2:
            left, low, right, high = common.bounds
            sizes = {"along_mm": right - left, "across_mm": high - low, "x_mm": left, "y_mm": low}
            told.append(refuse("faces-overlap-flat", None, one=pieces[one][0], other=pieces[other][0], **sizes))
    told += beside(blank, pieces)
    told += _hole_findings(blank, pieces)
    return tuple(told)


def pieces_of(blank: PanelBlank) -> list[tuple[Phrase, Any]]:
    """Every face and every zone of the blank with its name, the faces first."""
    polygon = shapely.Polygon
    faces = [(place("face", face.name), polygon(face.outline_mm)) for face in blank.faces]
    return [*faces, *((place("bend", zone.label), polygon(strip_mm(zone))) for zone in blank.zones)]


def strip_mm(zone: BendZone, beyond_mm: float = 0.0) -> tuple[Point, ...]:
    """The corners of a bend zone on the blank, counterclockwise from where its line begins on the inner side."""
    (x, y), (to_x, to_y) = zone.line_mm
    length_mm, half_mm = math.dist(*zone.line_mm), zone.allowance.allowance_mm / 2
    dx, dy = (to_x - x) / length_mm, (to_y - y) / length_mm
    x, y, to_x, to_y = (x - beyond_mm * dx, y - beyond_mm * dy, to_x + beyond_mm * dx, to_y + beyond_mm * dy)
    out_x, out_y = -dy * half_mm, dx * half_mm
    return (x - out_x, y - out_y), (to_x - out_x, to_y - out_y), (to_x + out_x, to_y + out_y), (x + out_x, y + out_y)


def beside(blank: PanelBlank, pieces: list[tuple[Phrase, Any]]) -> Iterator[Finding]:
    """Bends that end beside sheet: they would tear it."""
    for at, zone in enumerate(blank.zones):
        first, second, third, fourth = strip_mm(zone, BESIDE_MM)
        for line in ((fourth, first), (second, third)):
            outside = shapely.LineString(line)
            for place_of, (name, shape) in enumerate(pieces):
                if place_of == len(blank.faces) + at:
                    continue
                run_mm = shapely.intersection(outside, shape).length
                if run_mm > LEAST_RUN_MM:
                    yield refuse("relief-missing", place("bend", zone.label), piece=name, run_mm=run_mm)


def _hole_findings(blank: PanelBlank, pieces: list[tuple[Phrase, Any]]) -> Iterator[Finding]:
    for hole in blank.holes:
        where = place("hole", hole.number)
        beside = [zone for zone in blank.zones if hole.face in (zone.face_from, zone.face_to)]
        at = next(index for index, face in enumerate(blank.faces) if face.number == hole.face)
        sheet = shapely.union_all(
            [pieces[at][1], *(shapely.Polygon(strip_mm(zone)) for zone in beside)], grid_size=GRID_MM
        )
        if not sheet.contains(shape_of(hole)):
            yield refuse("hole-off-face", where, face=blank.faces[at].name)
            continue
        for zone in beside:
            yield from near_findings(hole, zone, blank.thickness_mm)


def shape_of(hole: FlatHole) -> Any:
    """A hole as a polygon of the plane."""
    if hole.diameter_mm is not None:
        return shapely.Point(hole.centre_mm).buffer(hole.diameter_mm / 2)
    return shapely.Polygon(hole.corners_mm)


def near_findings(hole: FlatHole, zone: BendZone, thickness_mm: float) -> Iterator[Finding]:
    """As for a section: a hole that reaches into a zone, or lies so near that it is drawn out of shape."""
    is_round = hole.diameter_mm is not None
    least_mm = (ROUND_HOLE_THICKNESSES if is_round else SLOT_THICKNESSES) * thickness_mm
    (x, y), (to_x, to_y) = zone.line_mm
    length_mm = math.dist(*zone.line_mm)
    dx, dy = (to_x - x) / length_mm, (to_y - y) / length_mm
    off_x, off_y = hole.centre_mm[0] - (x + to_x) / 2, hole.centre_mm[1] - (y + to_y) / 2
    half, deep = hole.half_size_mm
    # The extent of a turned rectangle along and across the line; a circle's is the same all round.
    cos, sin = abs(hole.along[0] * dx + hole.along[1] * dy), abs(hole.along[0] * dy - hole.along[1] * dx)
    reach, rise = (half, half) if is_round else (half * cos + deep * sin, half * sin + deep * cos)
    beyond_mm = abs(off_x * dx + off_y * dy) - length_mm / 2 - reach
    across_mm = abs(off_y * dx - off_x * dy) - zone.allowance.allowance_mm / 2 - rise
    apart_mm = across_mm if beyond_mm <= 0 else math.hypot(max(across_mm, 0.0), beyond_mm)
    where = place("hole", hole.number)
    if apart_mm <= TOUCHING_MM:
        yield caution("hole-in-bend", where, bend=zone.label, reach_mm=-apart_mm)
    elif apart_mm < least_mm - TOUCHING_MM:
        yield caution("hole-near-bend", where, bend=zone.label, distance_mm=apart_mm, least_mm=least_mm)


def finished_findings(blank: PanelBlank) -> tuple[Finding, ...]:
    """Where the finished part runs through itself: pairs of pieces that no bend joins, and how deep they overlap.

    A piece is told by the faces it touches: a face by itself, a bend by the two it joins.
    """
    fold = folded(blank)
    half_mm = blank.thickness_mm / 2 - min(CONTACT_MM, blank.thickness_mm / 4)
    bodies: list[tuple[Phrase, set[int], list[Plate], FlatFace | None]] = [
        (place("face", face.name), {face.number}, _plates(fold, face, (), half_mm), face) for face in blank.faces
    ]
    bodies += [
        (place("bend", zone.label), {zone.face_from, zone.face_to}, _bent(fold, at, zone, half_mm), None)
        for at, zone in enumerate(blank.zones)
    ]
    joined = {frozenset((zone.face_from, zone.face_to)) for zone in blank.zones}
    told = []
    for (one, its, first, face), (other, others, second, beside) in combinations(bodies, 2):
        if frozenset(its | others) in joined:
            continue
        deep_mm = _deepest_mm(first, second)
        if deep_mm > CONTACT_MM:
            # Only now holes are looked at: what stands in one meets nothing.
            deep_mm = _deepest_mm(
                _plates(fold, face, blank.holes, half_mm) if face is not None else first,
                _plates(fold, beside, blank.holes, half_mm) if beside is not None else second,
            )
        if deep_mm > CONTACT_MM:
            told.append(refuse("part-crosses-itself", None, one=one, other=other, overlap_mm=deep_mm))
    return tuple(told)


def _deepest_mm(first: Sequence[Plate], second: Sequence[Plate]) -> float:
    return max((depth_mm(mine, theirs) for mine in first for theirs in second), default=0.0)


def _plates(fold: Fold, face: FlatFace, all_holes: Sequence[FlatHole], half_mm: float) -> list[Plate]:
    """A face as convex plates, its own of the holes left out."""
    holes = [shape_of(hole) for hole in all_holes if hole.face == face.number]
    polygon = shapely.Polygon(face.outline_mm)
    if holes:
        polygon = shapely.difference(polygon, shapely.union_all(holes), grid_size=GRID_MM)
    rings = [np.array(face.outline_mm)] if not holes and _is_convex(face.outline_mm) else _convex_parts(polygon)
    return [_plate(fold, face.number, ring, half_mm) for ring in rings]


def _plate(fold: Fold, face: int, ring: Points, half_mm: float) -> Plate:
    under, over = (fold.folded_mm(face, ring, up_mm=up) for up in (-half_mm, half_mm))
    return plate_of(under, over)


def _is_convex(ring: Sequence[Point]) -> bool:
    points = np.array(ring)
    along = np.roll(points, -1, axis=0) - points
    after = np.roll(along, -1, axis=0)
    return bool(np.all(along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0] >= -TOUCHING_MM))


def _convex_parts(polygon: Any) -> list[Points]:
    """A face that is not convex, or has holes, in triangles."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    return [np.array(each.exterior.coords[:-1]) for each in triangles]


def _bent(fold: Fold, at: int, zone: BendZone, half_mm: float) -> list[Plate]:
    """A bend zone as plates from chord to chord, each with its true ends square to the sheet."""
    hinge, length_mm = fold.hinges[at], math.dist(*zone.line_mm)
    chords = max(1, arc_chords(hinge.radius_mm + fold.thickness_mm / 2, zone.turn_deg))
    skins: list[tuple[SpacePoints, SpacePoints]] = []
    for up_mm in (-half_mm, half_mm):
        skins.append(
            (
                fold.arc_mm(at, 0.0, up_mm=up_mm, chords=chords),
                fold.arc_mm(at, length_mm, up_mm=up_mm, chords=chords),
            )
        )
    found = []
    for step in range(chords):
        under, over = (np.array([near[step], far[step], far[step + 1], near[step + 1]]) for near, far in skins)
        found.append(plate_of(under, over))
    return found
