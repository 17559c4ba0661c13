"""Drawn lines as they cross the sheet: cut where they leave it, lengthened a little where they fall short of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

from flangewise.drawn.blank import Run
from flangewise.drawn.pieces import FARTHEST_MM
from flangewise.drawn.strokes import OVERLAP_MM, STRAIGHT_MM, DrawnStroke, crossing_mm
from flangewise.drawn.told import TimeBox, at, line_place
from flangewise.findings import Finding, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass

# A line that ends no further than this before an edge is drawn on to it.
REACH_MM = 0.5
# A line nearer to an edge than this runs along it; the sheet less this band is what lines are cut with.
BAND_MM = 0.005
# A corner this near to a line lies on it: rounding alone.
THROUGH_MM = 1e-6
# A line that meets an edge at a flat angle leaves the band this far from it at most.
FLAT_MEETING_MM = 1.0


@dataclass(frozen=True)
class LineOnSheet:
    """A drawn line with its stretches on the sheet."""

    stroke: DrawnStroke
    runs_mm: tuple[Run, ...]

    def goes_through(self, point_mm: Point) -> bool:
        """Whether a point of the line lies on the sheet and on neither end of a stretch."""
        along_mm = self.stroke.along_mm(point_mm)
        spans = (sorted(self.stroke.along_mm(end) for end in run) for run in self.runs_mm)
        return any(from_mm + STRAIGHT_MM < along_mm < to_mm - STRAIGHT_MM for from_mm, to_mm in spans)


@dataclass(frozen=True)
class LinesOnSheet:
    """The lines that have a stretch on the sheet, and the faults of the others."""

    lines: tuple[LineOnSheet, ...]
    findings: tuple[Finding, ...]


def on_sheet(strokes: Sequence[DrawnStroke], sheet: Any, box: TimeBox) -> LinesOnSheet:
    """Every line cut to the sheet. A fault: one off the sheet or along its edge, an end inside, two that cross."""
    core = sheet.buffer(-BAND_MM, join_style="mitre")
    shapely.prepare(core)
    lines: list[LineOnSheet] = []
    findings: list[Finding] = []
    for stroke in strokes:
        box.look()
        edges_mm = _edges_mm(stroke, sheet)
        spans = _spans(stroke, core, edges_mm)
        where = line_place(stroke.number)
        if not spans:
            middle_mm = stroke.at_mm(stroke.length_mm / 2)
            along = sheet.boundary.distance(shapely.Point(middle_mm)) <= BAND_MM
            code = "drawn-line-on-edge" if along else "drawn-line-off-sheet"
            findings.append(refuse(code, where, place=at(middle_mm)))
            continue
        inside = _inside(stroke, spans, edges_mm)
        findings += [
            refuse("drawn-line-ends-inside", where, place=at(stroke.at_mm(end_mm)), edge_mm=edge_mm)
            for end_mm, edge_mm in inside
        ]
        lines.append(LineOnSheet(stroke, tuple((stroke.at_mm(a), stroke.at_mm(b)) for a, b in spans)))
    findings += _crossings(lines)
    return LinesOnSheet(tuple(lines), tuple(findings))


def _edges_mm(stroke: DrawnStroke, sheet: Any) -> list[float]:
    """How far along the line, drawn on both ways, edges of the sheet are met; both ends of an edge it runs along."""
    far_mm = 4 * FARTHEST_MM
    whole = shapely.LineString([stroke.at_mm(-far_mm), stroke.at_mm(stroke.length_mm + far_mm)])
    met = shapely.get_coordinates(sheet.boundary.intersection(whole)).tolist()
    # A corner that the line runs through is met, also where rounding lets the line pass by it along an edge.
    corners = shapely.get_coordinates(sheet.boundary)
    (x, y), (dx, dy) = stroke.at_mm(0.0), stroke.way
    off_mm = abs((corners[:, 0] - x) * dy - (corners[:, 1] - y) * dx)
    return sorted(stroke.along_mm(point) for point in (*met, *corners[off_mm < THROUGH_MM].tolist()))


def _spans(stroke: DrawnStroke, core: Any, edges_mm: Sequence[float]) -> list[tuple[float, float]]:
    """Stretches of the line on the sheet, from where to where along it, out to the edges they reach."""
    drawn = shapely.LineString([stroke.at_mm(-REACH_MM), stroke.at_mm(stroke.length_mm + REACH_MM)])
    found: list[tuple[float, float]] = []
    for part in shapely.get_parts(core.intersection(drawn)):
        if part.geom_type == "LineString" and not part.is_empty:
            from_mm, to_mm = sorted(stroke.along_mm(part.coords[each]) for each in (0, -1))
            if min(to_mm, stroke.length_mm) - max(from_mm, 0.0) > OVERLAP_MM:
                found.append((_to_edge(from_mm, edges_mm), _to_edge(to_mm, edges_mm)))
    joined: list[tuple[float, float]] = []
    for from_mm, to_mm in sorted(found):
        # Parted by the band of an edge that comes near but is not met: one stretch.
        if joined and not any(joined[-1][1] - BAND_MM <= edge <= from_mm + BAND_MM for edge in edges_mm):
            joined[-1] = (joined[-1][0], to_mm)
        else:
            joined.append((from_mm, to_mm))
    return joined


def _to_edge(along_mm: float, edges_mm: Sequence[float]) -> float:
    near_mm = min(edges_mm, key=lambda edge_mm: abs(edge_mm - along_mm), default=along_mm)
    return near_mm if abs(near_mm - along_mm) <= FLAT_MEETING_MM else along_mm


def _inside(
    stroke: DrawnStroke, spans: Sequence[tuple[float, float]], edges_mm: Sequence[float]
) -> list[tuple[float, float]]:
    """Ends that lie inside the sheet: where along the line, and how far on its edge is."""
    found = []
    for span, drawn_mm, way in ((spans[0][0], 0.0, -1.0), (spans[-1][1], stroke.length_mm, 1.0)):
        onward = [way * (edge_mm - drawn_mm) for edge_mm in edges_mm]
        if way * (span - drawn_mm) > REACH_MM or not any(abs(edge_mm - span) < 1e-9 for edge_mm in edges_mm):
            found.append((drawn_mm, min((edge_mm for edge_mm in onward if edge_mm > 0), default=0.0)))
    return found


def _crossings(lines: Sequence[LineOnSheet]) -> list[Finding]:
    """Lines that cross on the sheet, each pair once; those that end in the same corner of an edge do not."""
    found = []
    for place, one in enumerate(lines):
        for other in lines[place + 1 :]:
            point_mm: Point | None = crossing_mm(one.stroke, other.stroke)
            if point_mm is not None and one.goes_through(point_mm) and other.goes_through(point_mm):
                where = line_place(one.stroke.number)
                found.append(refuse("drawn-lines-cross", where, other=other.stroke.number, place=at(point_mm)))
    return found
