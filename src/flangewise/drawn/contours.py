"""Rings made one sheet: the largest is the outline, those inside are cut-outs, all else is a fault."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

import shapely

from flangewise.drawn.blank import Ring, ring_area_mm2
from flangewise.drawn.joined import TWICE_MM, joined
from flangewise.drawn.pieces import Points
from flangewise.drawn.told import TimeBox, at, shown
from flangewise.findings import Finding, note, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass

# Rings whose areas differ by no more than this share may be one drawn twice; whether they are is measured.
LIKE_SHARE = 0.02
# An outline smaller than this is no sheet, and a ring smaller is no cut-out.
LEAST_MM2 = 0.01
_PLACE = re.compile(r"\[(-?[0-9.e+-]+) (-?[0-9.e+-]+)")


@dataclass(frozen=True)
class DrawnSheet:
    """The sheet as a polygon of the library, None where it is none; and what must be told of it."""

    polygon: Any
    findings: tuple[Finding, ...]


def sheet_of(pieces: Sequence[Points], layer: str, box: TimeBox) -> DrawnSheet:
    """The one sheet that the pieces of contour make."""
    made = joined(pieces, box)
    findings = list(made.findings)
    polygons = [shapely.Polygon(ring) for ring in made.rings if len(ring) > 2]
    findings += [refuse("drawn-crosses-itself", _place_of(each)) for each in polygons if not each.is_valid]
    if any(finding.severity == "refuse" for finding in findings):
        return DrawnSheet(None, tuple(findings))
    polygons = [each for each in polygons if each.area > LEAST_MM2]
    if not polygons:
        return DrawnSheet(None, (*findings, refuse("drawn-no-outline", layer=shown(layer))))
    polygons.sort(key=lambda each: (-each.area, each.bounds))
    kept, twice = _once(polygons, box)
    if twice:
        findings.append(note("drawn-twice", at(twice[0].exterior.coords[0]), count=len(twice)))
    findings += _misplaced(kept[0], kept[1:], box)
    if any(finding.severity == "refuse" for finding in findings):
        return DrawnSheet(None, tuple(findings))
    whole = shapely.Polygon(kept[0].exterior, [each.exterior for each in kept[1:]])
    if not whole.is_valid:
        return DrawnSheet(None, (*findings, refuse("drawn-contours-meet", _place_of(whole))))
    return DrawnSheet(whole, tuple(findings))


def ring_of(line: Any) -> Ring:
    """A closed line of the library as a ring, counterclockwise, from its lowest point, of these the leftmost."""
    points: list[Point] = [(float(x_mm), float(y_mm)) for x_mm, y_mm in line.coords[:-1]]
    if ring_area_mm2(points) < 0:
        points.reverse()
    first = min(range(len(points)), key=lambda each: (points[each][1], points[each][0]))
    return (*points[first:], *points[:first])


def _place_of(polygon: Any) -> Any:
    """Where a polygon is not valid: told by the library in its words."""
    found = _PLACE.search(shapely.is_valid_reason(polygon))
    return at((float(found[1]), float(found[2]))) if found else at(polygon.exterior.coords[0])


def _once(polygons: Sequence[Any], box: TimeBox) -> tuple[list[Any], list[Any]]:
    """The rings, those drawn twice once, and the others."""
    kept: list[Any] = []
    twice: list[Any] = []
    tree = shapely.STRtree(polygons)
    gone: set[int] = set()
    for one, polygon in enumerate(polygons):
        box.look()
        if one in gone:
            twice.append(polygon)
            continue
        kept.append(polygon)
        gone.update(int(other) for other in tree.query(polygon) if other > one and _is_same(polygon, polygons[other]))
    return kept, twice


def _is_same(one: Any, other: Any) -> bool:
    if abs(one.area - other.area) > LIKE_SHARE * one.area:
        return False
    if max(abs(here - there) for here, there in zip(one.bounds, other.bounds, strict=True)) > 2 * TWICE_MM:
        return False
    # Rings that go the same way but begin elsewhere or have other points on their curves differ by flattening alone.
    return bool(shapely.hausdorff_distance(one.exterior, other.exterior, densify=0.1) <= 2 * TWICE_MM)


def _misplaced(outer: Any, inner: Sequence[Any], box: TimeBox) -> Iterator[Finding]:
    """Rings that are no cut-outs of the outline: outside it, across it, across each other, within each other."""
    shapely.prepare(outer)
    for each in inner:
        box.look()
        if outer.exterior.crosses(each.exterior) or (outer.intersects(each) and not outer.covers(each)):
            yield refuse("drawn-contours-meet", _meeting_place(outer, each))
        elif not outer.covers(each):
            yield refuse("drawn-second-blank", at(each.representative_point().coords[0]))
    tree = shapely.STRtree(list(inner))
    for one, other in zip(*tree.query(list(inner), predicate="intersects"), strict=True) if inner else ():
        if one >= other or inner[one].touches(inner[other]):
            continue
        if inner[one].covers(inner[other]):
            yield refuse("drawn-second-blank", at(inner[other].representative_point().coords[0]))
        else:
            yield refuse("drawn-contours-meet", _meeting_place(inner[one], inner[other]))


def _meeting_place(one: Any, other: Any) -> Any:
    meets = shapely.get_parts(one.exterior.intersection(other.exterior))
    return at(meets[0].representative_point().coords[0] if len(meets) else other.exterior.coords[0])
