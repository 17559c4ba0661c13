"""Strokes on the layers of bends made drawn lines: straight, dashes joined, none twice, numbered."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flangewise.drawn.joined import JOIN_MM
from flangewise.drawn.pieces import SAME_MM, Points
from flangewise.drawn.told import apart_mm, at
from flangewise.findings import Finding, note, refuse
from flangewise.geometry import Point
from flangewise.records import dataclass

# A stroke further off its straight than this is a curve, and strokes nearer lie on one line.
STRAIGHT_MM = 0.01
# Strokes that lie on each other over more than this are drawn twice.
OVERLAP_MM = 0.01
MOST_LINES = 500


@dataclass(frozen=True)
class DrawnStroke:
    """A drawn bend line before it is cut to the sheet; `carrier` is alike for all that lie on one line without end."""

    number: int
    start_mm: Point
    end_mm: Point
    toward: bool
    carrier: int

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return apart_mm(self.start_mm, self.end_mm)

    @property
    def way(self) -> Point:
        """Direction from start to end, of length 1."""
        (x_mm, y_mm), (u_mm, v_mm) = self.start_mm, self.end_mm
        return (u_mm - x_mm) / self.length_mm, (v_mm - y_mm) / self.length_mm

    def at_mm(self, along_mm: float) -> Point:
        """The point so far along the line from its start."""
        (x_mm, y_mm), (across, up) = self.start_mm, self.way
        return x_mm + along_mm * across, y_mm + along_mm * up

    def along_mm(self, point_mm: Sequence[float]) -> float:
        """How far along the line from its start a point lies."""
        across, up = self.way
        return (point_mm[0] - self.start_mm[0]) * across + (point_mm[1] - self.start_mm[1]) * up

    def off_mm(self, point_mm: Sequence[float]) -> float:
        """How far beside the line, drawn on without end, a point lies: positive on its left."""
        across, up = self.way
        return (point_mm[1] - self.start_mm[1]) * across - (point_mm[0] - self.start_mm[0]) * up

    def apart_mm(self, point_mm: Point) -> float:
        """How far a point is from the stroke."""
        along_mm = min(max(self.along_mm(point_mm), 0.0), self.length_mm)
        return apart_mm(self.at_mm(along_mm), point_mm)


@dataclass(frozen=True)
class DrawnStrokes:
    """The drawn bend lines in the order of their numbers, and what must be told of them."""

    lines: tuple[DrawnStroke, ...]
    findings: tuple[Finding, ...]


def strokes_of(drawn: Sequence[tuple[Points, bool]]) -> DrawnStrokes:
    """Each line of the drawing once, from the near edge on, from the left; `drawn` has points, and whether toward."""
    findings: list[Finding] = []
    straight: list[DrawnStroke] = []
    for points, toward in drawn:
        stroke = _straight(points, toward)
        if stroke is None:
            findings.append(refuse("drawn-line-curved", at(points[0])))
        elif stroke.length_mm > SAME_MM:
            straight.append(stroke)
    if len(straight) > MOST_LINES:
        return DrawnStrokes((), (*findings, refuse("drawn-many-lines", most=MOST_LINES, count=len(straight))))
    merged, twice = _merged(straight)
    if twice:
        findings.append(note("drawn-lines-twice", at(twice[0]), count=len(twice)))
    lines = tuple(
        DrawnStroke(number, line.start_mm, line.end_mm, line.toward, line.carrier)
        for number, line in enumerate(sorted(merged, key=_order), start=1)
    )
    findings += _both_ways(lines)
    return DrawnStrokes(lines, tuple(findings))


def _order(line: DrawnStroke) -> tuple[float, float, float, float]:
    """By the lower end, of ends as low the left one; to the hundredth, so that how it was written does not matter."""
    one, other = sorted((round(y_mm, 2), round(x_mm, 2)) for x_mm, y_mm in (line.start_mm, line.end_mm))
    return *one, *other


def _straight(points: Points, toward: bool) -> DrawnStroke | None:
    """The stroke between the points that lie furthest apart; None where it is no straight one."""
    one = max(points, key=lambda point: apart_mm(point, points[0]))
    other = max(points, key=lambda point: apart_mm(point, one))
    stroke = DrawnStroke(0, min(one, other), max(one, other), toward, 0)
    if stroke.length_mm <= SAME_MM:
        return stroke
    return stroke if all(abs(stroke.off_mm(point)) <= STRAIGHT_MM for point in points) else None


def _merged(strokes: Sequence[DrawnStroke]) -> tuple[list[DrawnStroke], list[Point]]:
    """Strokes that lie on one line and meet made one; where one was drawn over another."""
    carriers: list[tuple[DrawnStroke, list[DrawnStroke]]] = []
    for stroke in sorted(strokes, key=lambda each: -each.length_mm):
        for carrier, members in carriers:
            if carrier.toward == stroke.toward and _lies_on(stroke, carrier):
                members.append(stroke)
                break
        else:
            carriers.append((stroke, [stroke]))
    merged: list[DrawnStroke] = []
    twice: list[Point] = []
    for number, (carrier, members) in enumerate(carriers):
        spans = sorted(sorted((carrier.along_mm(each.start_mm), carrier.along_mm(each.end_mm))) for each in members)
        taken = [spans[0]]
        for from_mm, to_mm in spans[1:]:
            if from_mm - taken[-1][1] > JOIN_MM:
                taken.append([from_mm, to_mm])
                continue
            if min(to_mm, taken[-1][1]) - from_mm > OVERLAP_MM:
                twice.append(carrier.at_mm(from_mm))
            taken[-1] = [taken[-1][0], max(to_mm, taken[-1][1])]
        merged += [DrawnStroke(0, carrier.at_mm(a), carrier.at_mm(b), carrier.toward, number) for a, b in taken]
    return merged, twice


def _lies_on(stroke: DrawnStroke, carrier: DrawnStroke) -> bool:
    return all(abs(carrier.off_mm(point)) <= STRAIGHT_MM for point in (stroke.start_mm, stroke.end_mm))


def _both_ways(lines: Sequence[DrawnStroke]) -> list[Finding]:
    """Lines on the layer toward that lie on lines on the layer away."""
    found = []
    for one in lines:
        for other in lines:
            if one.toward and not other.toward and _lies_on(other, one):
                spans = sorted((one.along_mm(other.start_mm), one.along_mm(other.end_mm)))
                if min(spans[1], one.length_mm) - max(spans[0], 0.0) > OVERLAP_MM:
                    found.append(refuse("drawn-both-ways", at(one.at_mm(max(spans[0], 0.0)))))
    return found


def crossing_mm(one: DrawnStroke, other: DrawnStroke) -> Point | None:
    """Where two strokes, drawn on without end, cross; None for parallels. By the rule of cross products."""
    (a, b), (c, d) = one.way, other.way
    sine = a * d - b * c
    if math.isclose(sine, 0.0, abs_tol=1e-12):
        return None
    along_mm = ((other.start_mm[0] - one.start_mm[0]) * d - (other.start_mm[1] - one.start_mm[1]) * c) / sine
    return one.at_mm(along_mm)
