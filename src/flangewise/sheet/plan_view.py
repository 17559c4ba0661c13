"""The blank in plan, marked face up: outline, cut-outs, zones, bend lines with number, turn and length, sizes.

A line bent toward the marked face is dashed, one bent away from it dashed and dotted. Each bend tells how far its line
lies from the edge beyond it: of a section from the start edge.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence

from flangewise import drawing as draw
from flangewise.geometry import Vertex, drawn_out
from flangewise.pattern import BendZone, Blank, FlatHole, FlatPattern, PanelBlank, load_mark_mm
from flangewise.records import dataclass
from flangewise.sheet.data import Point
from flangewise.sheet.wording import Wording

MARGIN_MM, MARGIN_SHARE = 26.0, 0.15
"""Room around the blank for its words: so much, of a small picture a share of it."""
SECTION_MARGIN_MM = 50.0
FOOT_MM = 8.0
WORD_MM = 3.2
TOWARD, AWAY = draw.Pen(0.5, (3.0, 1.5)), draw.Pen(0.5, (6.0, 1.2, 0.8, 1.2))
ROUND_MM = 0.02
"""Mm of paper that a circle may be off by."""
FIRST_SHARE, NEXT_SHARE = 0.14, 0.16
"""Where along a bend line its distance from the edge is drawn, and how much further in for what hangs outward."""


Ways = tuple[Point, Point]
AS_DRAWN: Ways = ((1.0, 0.0), (0.0, 1.0))
"""Which directions on the blank go to the right and up on the paper."""


def laid(point: Point, ways: Ways) -> Point:
    """A point of the blank as it is laid: to the right and up."""
    (right, up), (x, y) = ways, point
    return x * right[0] + y * right[1], x * up[0] + y * up[1]


@dataclass(frozen=True)
class View:
    """The blank on the paper as it is laid: the least coordinates of its outline, where they stand, and the scale."""

    low_mm: Point
    at_mm: Point
    scale: float
    ways: Ways

    def spot(self, point: Point) -> Point:
        """A point of the blank on the paper: across goes up."""
        x, y = laid(point, self.ways)
        return self.at_mm[0] + (x - self.low_mm[0]) * self.scale, self.at_mm[1] - (y - self.low_mm[1]) * self.scale

    def ring(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Points of the blank on the paper."""
        return tuple(map(self.spot, points))


@draw.with_room_for_labels
def blank_plan(
    growth_mm: float,
    blank: Blank,
    wording: Wording,
    *,
    width_mm: float,
    height_mm: float,
    mark: Callable[[str], str] = str,
    described: str = "",
    ways: Ways = AS_DRAWN,
    foot: str = "",
    offsets_mm: Mapping[int, float] | None = None,
) -> draw.Built:
    """The blank in a room of that width, and of that height or as much higher as its labels need.

    `mark` is how a bend is named by its number or label; `ways` lay it otherwise than it is drawn, also turned over;
    `foot` stands below it in place of what the lines mean; of the bends that are offsets, by so much, both lines go by
    one name.
    """
    high_mm = height_mm + growth_mm
    xs, ys = zip(*(laid(point, ways) for point in blank.outline_mm), strict=True)
    wide, deep = max(xs) - min(xs), max(ys) - min(ys)
    is_section = isinstance(blank, FlatPattern)
    margin_mm = min(MARGIN_MM, MARGIN_SHARE * width_mm)
    beside_mm = SECTION_MARGIN_MM if is_section else margin_mm
    scale = min(
        draw.scale_for(wide, width_mm - margin_mm - beside_mm),
        draw.scale_for(deep, height_mm - 2 * margin_mm + FOOT_MM),
    )
    left = margin_mm + (width_mm - margin_mm - beside_mm - wide * scale) / 2
    view = View((min(xs), min(ys)), (left, (high_mm + deep * scale) / 2 - FOOT_MM / 2), scale, ways)
    room = draw.Box(0.0, 0.0, width_mm, high_mm - FOOT_MM)
    drawing = draw.Drawing(width_mm, high_mm, described=described, labels_in=room)
    foot = foot or wording.word("plan.foot", part=blank.part, thickness=wording.size(blank.thickness_mm))
    box = draw.Box(left, view.at_mm[1] - deep * scale, left + wide * scale, view.at_mm[1])
    upper_left, upper_right, lower_right, lower_left = box.corners_mm
    # A section's bends are told beside their ends on the right.
    upright = (upper_left, lower_left) if is_section else (lower_right, upper_right)
    sizes = [
        draw.linear(lower_left, lower_right, off_mm=-9.0, words=wording.size(wide)),
        draw.linear(*upright, off_mm=-9.0, words=wording.size(deep)),
        *_from_edges(blank, view, wording),
    ]
    drawing = drawing.adding(
        [
            *(draw.Line(view.ring(_strip(zone)), draw.THIN, closed=True, fill="pale") for zone in blank.zones),
            draw.Line(view.ring(_outline(blank, scale)), draw.MEDIUM, closed=True),
            *(draw.Line(view.ring(_rim(hole, scale)), draw.MEDIUM, closed=True, fill="white") for hole in blank.holes),
            *(
                draw.Line(view.ring(run), TOWARD if zone.toward else AWAY)
                for zone in blank.zones
                for run in zone.runs_mm
            ),
            draw.Line(view.ring(load_mark_mm(blank)), None, closed=True, fill="black"),
            *(line for size in sizes for line in size.lines),
            draw.Text((width_mm / 2, high_mm - 2.0), foot, WORD_MM, False, "middle"),
        ]
    )
    return drawing, [*_bend_labels(blank, view, wording, mark, offsets_mm or {}), *(size.label for size in sizes)]


def _outline(blank: Blank, scale: float) -> tuple[Point, ...]:
    if not isinstance(blank, PanelBlank):
        return blank.outline_mm
    ring = [Vertex(point, bulge) for point, bulge in zip(blank.outline_mm, blank.bulges, strict=True)]
    return drawn_out(ring, ROUND_MM / scale)


def _rim(hole: FlatHole, scale: float) -> tuple[Point, ...]:
    if hole.diameter_mm is None:
        return hole.corners_mm
    (x, y), radius = hole.centre_mm, hole.diameter_mm / 2
    return tuple(draw.arc_points((x, y), radius, from_deg=0, to_deg=360)[:-1])


def _strip(zone: BendZone) -> tuple[Point, ...]:
    """The corners of a bend zone."""
    (x, y), (to_x, to_y) = zone.line_mm
    dx, dy = _along(zone)
    half_mm = zone.allowance.allowance_mm / 2
    off_x, off_y = -dy * half_mm, dx * half_mm
    return (x - off_x, y - off_y), (to_x - off_x, to_y - off_y), (to_x + off_x, to_y + off_y), (x + off_x, y + off_y)


def _along(zone: BendZone) -> Point:
    (x, y), (to_x, to_y) = zone.line_mm
    long_mm = math.dist(*zone.line_mm)
    return (to_x - x) / long_mm, (to_y - y) / long_mm


def _bend_labels(
    blank: Blank, view: View, wording: Wording, mark: Callable[[str], str], offsets_mm: Mapping[int, float]
) -> Iterator[draw.Label]:
    """Number, turn and way, length; of a section the place from the start edge too. An offset's two lines have one."""
    told_of = set[int]()
    for zone in blank.zones:
        way = wording.word("plan.toward" if zone.toward else "plan.away")
        turn = wording.number(f"{zone.turn_deg:g}°")
        told = wording.word("plan.bend", bend=mark(zone.label), turn=turn, way=way)
        if zone.bend in offsets_mm:
            if zone.bend in told_of:
                continue
            told_of.add(zone.bend)
            offset = wording.word("offset-by", size=wording.size(offsets_mm[zone.bend]))
            told = wording.word("plan.offset", bend=mark(str(zone.bend)), offset=offset, way=way)
        if isinstance(blank, FlatPattern):
            place = wording.word("plan.from-start", place=wording.size(zone.line_mm[0][1]))
            end = max(map(view.spot, zone.line_mm))
            yield draw.Label((told, place), end, WORD_MM, True, (draw.RIGHT,))
            continue
        long = wording.word("plan.long", length=wording.size(zone.length_mm))
        yield draw.Label((told, long), view.spot(draw.between(*zone.line_mm)), WORD_MM, True)


def _from_edges(blank: Blank, view: View, wording: Wording) -> Iterator[draw.Dimension]:
    """From each bend line to the edge beyond it, of a panel."""
    if isinstance(blank, FlatPattern):
        return
    hung: dict[int, list[BendZone]] = defaultdict(list)
    for zone in blank.zones:
        hung[zone.face_from].append(zone)
    rings = {face.number: face.outline_mm for face in blank.faces}

    def beyond(zone: BendZone) -> list[Point]:
        """The corners of all that a bend carries."""
        return [*rings[zone.face_to], *(point for each in hung[zone.face_to] for point in beyond(each))]

    for zone in blank.zones:
        (x, y), (dx, dy) = zone.line_mm[0], _along(zone)
        off_mm = max((py - y) * dx - (px - x) * dy for px, py in beyond(zone))
        share = FIRST_SHARE + NEXT_SHARE * _depth(zone, blank.zones)
        start = draw.between(*zone.line_mm, share)
        end = (start[0] - dy * off_mm, start[1] + dx * off_mm)
        yield draw.linear(view.spot(start), view.spot(end), off_mm=0.01, words=wording.size(off_mm))


def _depth(zone: BendZone, zones: Sequence[BendZone]) -> int:
    """How many bends lie between the base and the one that carries a face."""
    inward = next((each for each in zones if each.face_to == zone.face_from), None)
    return 0 if inward is None else 1 + _depth(inward, zones)
