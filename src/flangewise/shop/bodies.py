"""Outlines of tools and machines as a shop table writes them, and the segments a tool is held in."""

import math
import re
from collections.abc import Sequence
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from flangewise.geometry import Outline, Point
from flangewise.shop.row import ABSURD, Count, Frozen, Positive, unfit
from flangewise.shop.trusted import Trusted

Ear = Literal["left", "right"]

# Arcs may touch: what is left between them is far under what a table is written to.
SAME_PLACE_MM = 1e-6
_FORM = "each point is [toward the operator, up] or [toward the operator, up, radius], in mm"


def read_outline(points: Any) -> Outline:
    """An outline from a table's points, counterclockwise, a third number the radius of that corner.

    Raises ValueError, saying what would be right, for any other form.
    """
    if isinstance(points, Outline):
        return points
    if not isinstance(points, (list, tuple)) or len(points) < 3:
        raise unfit("is no outline", f"list three or more points; {_FORM}")
    outline = _outline([_checked(point) for point in points])
    _check_arcs(outline)
    if outline.area_mm2() <= 0:
        raise unfit("the points run clockwise or enclose nothing", "write them counterclockwise")
    if _crosses_itself(outline):
        raise unfit("the outline crosses itself", "put its points in the order in which they are walked")
    return outline


def _outline(points: Sequence[Sequence[float]]) -> Outline:
    corners = tuple((float(point[0]), float(point[1])) for point in points)
    return Outline(corners, tuple(float(point[2]) if len(point) == 3 else 0.0 for point in points))


def _checked(point: Any) -> list[float]:
    if not isinstance(point, (list, tuple)) or len(point) not in (2, 3):
        raise unfit(f"{point!r} is no point", _FORM)
    for value in point:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < ABSURD:
            raise unfit(f"{value!r} in point {list(point)!r} is no usable number", _FORM)
    if len(point) == 3 and point[2] < 0:
        raise unfit(f"the radius in point {list(point)!r} is negative", "a radius is 0 or more")
    return list(point)


def _check_arcs(outline: Outline) -> None:
    fits = "make the radius smaller or move the points apart"
    try:
        reach_mm = {arc.corner_mm: math.dist(arc.corner_mm, arc.begins_mm) for arc in outline.arcs()}
    except ValueError as error:
        raise unfit(str(error), fits) from None
    for i, point in enumerate(outline.points_mm):
        before = outline.points_mm[i - 1]
        if point == before:
            raise unfit(f"two points stand at the same place, {point}", "keep one of them")
        if reach_mm.get(before, 0.0) + reach_mm.get(point, 0.0) > math.dist(before, point) + SAME_PLACE_MM:
            raise unfit(f"the arcs at {before} and {point} run into each other", fits)


def _crosses_itself(outline: Outline) -> bool:
    points = outline.points_mm
    count = len(points)
    edges = [(points[i], points[(i + 1) % count]) for i in range(count)]
    pairs = ((i, j) for i in range(count) for j in range(i + 2, count) if not (i == 0 and j == count - 1))
    return any(_cross(*edges[i], *edges[j]) for i, j in pairs)


def _cross(start: Point, end: Point, other_start: Point, other_end: Point) -> bool:
    one, two = _side(start, end, other_start), _side(start, end, other_end)
    three, four = _side(other_start, other_end, start), _side(other_start, other_end, end)
    return one * two < 0 and three * four < 0


def _side(start: Point, end: Point, point: Point) -> float:
    return (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])


def written_outline(outline: Outline) -> list[list[float]]:
    """An outline as a table writes it: points, with the radius where a corner is rounded."""
    pairs = zip(outline.points_mm, outline.radii_mm, strict=True)
    return [[*point, radius] if radius else list(point) for point, radius in pairs]


_POINT_SCHEMA = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 3}
Body = Annotated[
    Outline,
    BeforeValidator(read_outline),
    Trusted(lambda points, _: _outline(points)),
    PlainSerializer(written_outline),
    WithJsonSchema({"type": "array", "minItems": 3, "items": _POINT_SCHEMA, "description": _FORM}),
]


class Segment(Frozen):
    """A piece a tool is held in: its length, how many there are, and which end's ear it is, if one."""

    length_mm: Positive
    held: Count
    ear: Ear | None = None


_SEGMENT = re.compile(r"^(?P<ear>ear )?(?P<length>\d+(\.\d+)?)( (?P<side>left|right))?$")
_SEGMENT_FORM = "segments are written `220: 2` (length in mm: how many are held) or `ear 75 left: 2`"


def read_segments(segments: Any) -> Any:
    """Segments from a table's mapping of lengths to numbers held, longest first. Raises ValueError for another form."""
    if isinstance(segments, tuple):
        return segments
    if not isinstance(segments, dict) or not segments:
        raise unfit("holds no segments", _SEGMENT_FORM)
    held = (_segment(str(key), count) for key, count in segments.items())
    return tuple(sorted(held, key=lambda each: (each.ear is not None, -each.length_mm, each.ear or "")))


def _segment(key: str, held: Any) -> Segment:
    found = _SEGMENT.match(key)
    if not found or bool(found["ear"]) != bool(found["side"]) or not float(found["length"]) > 0:
        raise unfit(f"{key!r} is no segment", _SEGMENT_FORM)
    if isinstance(held, bool) or not isinstance(held, int) or not 1 <= held <= 10_000:
        raise unfit(f"{held!r} of {key} are held", f"hold 1 or more; {_SEGMENT_FORM}")
    return Segment.model_construct(length_mm=float(found["length"]), held=held, ear=found["side"])


def written_segments(segments: tuple[Segment, ...]) -> dict[str, int]:
    """Segments as a table writes them."""
    return {
        f"ear {segment.length_mm:g} {segment.ear}" if segment.ear else f"{segment.length_mm:g}": segment.held
        for segment in segments
    }


Segments = Annotated[
    tuple[Segment, ...],
    BeforeValidator(read_segments),
    Trusted(lambda segments, _: read_segments(segments)),
    PlainSerializer(written_segments),
    WithJsonSchema(
        {"type": "object", "additionalProperties": {"type": "integer", "minimum": 1}, "description": _SEGMENT_FORM}
    ),
]
