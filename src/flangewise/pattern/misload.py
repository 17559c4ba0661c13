"""Silent misloads: ways of laying the blank that the stops would not notice, and what to look for.

A plain rectangle fits the stops in four ways, a square in eight. Each way other than the right one is a symmetry of
the outline; if it does not also carry the holes, the face, the grain and the bend lines onto themselves, the wrong
part comes out or the mark stands wrong, and nothing stops it. Derived here by symmetry. Sides that differ by less than
3 mm or 3 % look equal: common practice.
"""

from collections.abc import Iterable
from typing import Literal

from flangewise.geometry import Point
from flangewise.part import Part
from flangewise.pattern.flat_pattern import FlatHole, FlatPattern
from flangewise.records import dataclass

Way = Literal["turned-180", "over-bed", "over-front", "turned-90", "turned-270", "over-diagonal-1", "over-diagonal-2"]
TURNED_OVER: frozenset[Way] = frozenset({"over-bed", "over-front", "over-diagonal-1", "over-diagonal-2"})
QUARTER: frozenset[Way] = frozenset({"turned-90", "turned-270", "over-diagonal-1", "over-diagonal-2"})
SQUARE_MM, SQUARE_SHARE = 3.0, 0.03
SAME_MM = 0.05  # holes nearer than this to where a hole belongs are taken for it: half of what a rule shows
SIDES_MM = 0.1  # sides that differ by no more than this give the same part either way: less than any tolerance of a leg


@dataclass(frozen=True)
class Misload:
    """One wrong way that fits: what differs, and the hole that tells it best, if any does.

    `lines` are bend lines that come to lie elsewhere; of a quarter turn that is where the two sides differ.
    """

    way: Way
    hole: FlatHole | None
    face: bool
    grain: bool
    lines: bool


def looks_square(blank: FlatPattern) -> bool:
    """Whether the two sides are too alike for the eye."""
    sides = (blank.along_bends_mm, blank.developed_mm)
    return abs(sides[0] - sides[1]) < max(SQUARE_MM, SQUARE_SHARE * max(sides))


def misloads(blank: FlatPattern, part: Part) -> tuple[Misload, ...]:
    """Every silent misload of a rectangular blank, in a fixed order; none where it is alike from all sides."""
    ways: list[Way] = ["turned-180", "over-bed", "over-front"]
    if looks_square(blank):
        ways += ["turned-90", "turned-270", "over-diagonal-1", "over-diagonal-2"]
    faces_matter = part.good_face != "none" or part.burr != "unknown" or part.film in ("marked", "other")
    found = (
        Misload(
            way,
            _telling(way, blank),
            face=way in TURNED_OVER and faces_matter,
            grain=way in QUARTER and part.grain != "any",
            lines=_lines_differ(way, blank),
        )
        for way in ways
    )
    return tuple(each for each in found if each.hole or each.face or each.grain or each.lines)


def _carried(way: Way, point: Point, blank: FlatPattern) -> Point:
    """Where a point of the rightly laid blank comes to lie, about the middle of the blank."""
    across, deep = point[0] - blank.along_bends_mm / 2, point[1] - blank.developed_mm / 2
    moved: dict[Way, Point] = {
        "turned-180": (-across, -deep),
        "over-bed": (across, -deep),
        "over-front": (-across, deep),
        "turned-90": (-deep, across),
        "turned-270": (deep, -across),
        "over-diagonal-1": (deep, across),
        "over-diagonal-2": (-deep, -across),
    }
    x, y = moved[way]
    return (x + blank.along_bends_mm / 2, y + blank.developed_mm / 2)


def _telling(way: Way, blank: FlatPattern) -> FlatHole | None:
    """The hole whose own place then lies furthest from any hole like it; None where each place finds one."""
    off = [
        (_nearest_mm(hole.centre_mm, [_carried(way, each, blank) for each in _like(hole, way, blank.holes)]), hole)
        for hole in blank.holes
    ]
    worst = max(off, key=lambda pair: (pair[0], -pair[1].number), default=None)
    return worst[1] if worst is not None and worst[0] > SAME_MM else None


def _like(hole: FlatHole, way: Way, holes: Iterable[FlatHole]) -> list[Point]:
    size_mm = hole.size_mm[::-1] if hole.size_mm and way in QUARTER else hole.size_mm
    return [each.centre_mm for each in holes if each.diameter_mm == hole.diameter_mm and each.size_mm == size_mm]


def _nearest_mm(point: Point, others: Iterable[Point]) -> float:
    return min((max(abs(x - point[0]), abs(y - point[1])) for x, y in others), default=float("inf"))


def _lines_differ(way: Way, blank: FlatPattern) -> bool:
    if way in QUARTER:
        return bool(blank.zones) and abs(blank.along_bends_mm - blank.developed_mm) > SIDES_MM
    if way == "over-front":
        return False
    places = sorted(zone.line_mm[0][1] for zone in blank.zones)
    mirrored = sorted(blank.developed_mm - at_mm for at_mm in places)
    return any(abs(one - other) > SAME_MM for one, other in zip(places, mirrored, strict=True))
