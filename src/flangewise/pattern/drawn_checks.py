"""What must be known of a drawn blank: bends that end beside sheet or share a corner, cut-outs near bends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Any

import shapely

from flangewise.findings import Finding, caution, place, refuse
from flangewise.pattern.flat_pattern import BendZone, FlatHole, PanelBlank
from flangewise.pattern.panel_checks import (
    GRID_MM,
    LEAST_OVERLAP_MM2,
    SLOT_THICKNESSES,
    TOUCHING_MM,
    beside,
    near_findings,
    pieces_of,
    shape_of,
    strip_mm,
)

# How much more than half a zone may stand beside sheet where a relief is drawn to the line: what drawings round.
SHORT_MM = 0.1


def parted_at_corners(zones: Sequence[BendZone]) -> tuple[tuple[BendZone, ...], tuple[Finding, ...]]:
    """The zones, those that share a corner cut back to where the other begins, and what is told of it.

    Most drawings have the notch at a corner end where two bend lines meet, not where the bends begin: then the two
    zones would share a square there, which neither bends.
    """
    kept, told = list(zones), []
    for at, other_at in combinations(range(len(zones)), 2):
        one, other = zones[at], zones[other_at]
        common = _common(one, other)
        if common.area <= LEAST_OVERLAP_MM2 or not _share_a_corner(one, other):
            continue
        left, low, right, high = common.bounds
        sizes = {"along_mm": right - left, "across_mm": high - low, "x_mm": left, "y_mm": low}
        told.append(caution("drawn-corner-shared", place("bend", one.label), other=other.label, **sizes))
        kept[at], kept[other_at] = (_cut_back(kept[each], common) for each in (at, other_at))
    return tuple(kept), tuple(told)


def _common(one: BendZone, other: BendZone) -> Any:
    return shapely.intersection(shapely.Polygon(strip_mm(one)), shapely.Polygon(strip_mm(other)), grid_size=GRID_MM)


def _cut_back(zone: BendZone, common: Any) -> BendZone:
    """A zone without the stretch of its line that lies beside what it shares, at the end nearer to that."""
    (x, y), (to_x, to_y) = zone.line_mm
    length_mm = math.dist(*zone.line_mm)
    dx, dy = (to_x - x) / length_mm, (to_y - y) / length_mm
    along = [(px - x) * dx + (py - y) * dy for px, py in common.exterior.coords]
    low, high = (max(along), length_mm) if max(along) < length_mm / 2 else (0.0, min(along))
    gaps = tuple((from_mm - low, to_mm - low) for from_mm, to_mm in zone.gaps_mm)
    line = ((x + low * dx, y + low * dy), (x + high * dx, y + high * dy))
    return replace(zone, line_mm=line, gaps_mm=gaps)


def drawn_findings(blank: PanelBlank) -> tuple[Finding, ...]:
    """Zones that overlap, ends of bends beside sheet, cut-outs near a bend."""
    told: list[Finding] = []
    for one, other in combinations(blank.zones, 2):
        common = _common(one, other)
        if common.area > LEAST_OVERLAP_MM2:
            left, low, right, high = common.bounds
            sizes = {"along_mm": right - left, "across_mm": high - low, "x_mm": left, "y_mm": low}
            names = {"one": place("bend", one.label), "other": place("bend", other.label)}
            told.append(refuse("faces-overlap-flat", None, **names, **sizes))
    halves_mm = {place("bend", zone.label): zone.allowance.allowance_mm / 2 for zone in blank.zones}
    for each in beside(blank, pieces_of(blank)):
        if each.where is None:
            continue
        values = dict(each.phrase.values)
        # A relief drawn to the line and not to where the bend begins: half the zone stands beside sheet.
        short = float(str(values["run_mm"])) <= halves_mm[each.where] + SHORT_MM
        told.append(caution("drawn-relief-short", each.where, **values) if short else each)
    told += [finding for hole in blank.holes for zone in blank.zones for finding in _hole_near(hole, zone, blank)]
    return tuple(told)


def _share_a_corner(one: BendZone, other: BendZone) -> bool:
    """Whether two bend lines have ends that come together within their zones."""
    near_mm = max(one.allowance.allowance_mm, other.allowance.allowance_mm)
    return min(math.dist(mine, its) for mine in one.line_mm for its in other.line_mm) < near_mm


def _hole_near(hole: FlatHole, zone: BendZone, blank: PanelBlank) -> Iterator[Finding]:
    if hole.face not in (zone.face_from, zone.face_to) or zone.gaps_mm:
        return
    if not hole.ring_mm:
        yield from near_findings(hole, zone, blank.thickness_mm)
        return
    strip = shapely.Polygon(strip_mm(zone))
    apart_mm, least_mm = shape_of(hole).distance(strip), SLOT_THICKNESSES * blank.thickness_mm
    where = place("hole", hole.number)
    if apart_mm <= TOUCHING_MM:
        line = shapely.LineString(zone.line_mm)
        reach_mm = zone.allowance.allowance_mm / 2 - shape_of(hole).distance(line)
        yield caution("hole-in-bend", where, bend=zone.label, reach_mm=reach_mm)
    elif apart_mm < least_mm - TOUCHING_MM:
        yield caution("hole-near-bend", where, bend=zone.label, distance_mm=apart_mm, least_mm=least_mm)
