"""The finished part as a true cross-section: legs L1, L2 ... with sizes and tolerances, angles inside their corners."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

from flangewise import drawing as draw
from flangewise.part import Part, WantedBend
from flangewise.pattern import BendZone, FlatPattern
from flangewise.sheet.data import Flat, Point, SheetData
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.wording import Wording

Spot = Callable[[Point], Point]
"""From a place of the section to its place on paper."""
SIZE_MM = 3.9
"""11 pt: what is measured is read from a bench away."""
MARGIN_MM = 13.0
"""Room around the section for its sizes."""
OFF_MM = 6.0
CARET_MM = 2.2


@draw.within
def section_picture(
    kept_mm: float, sheet: SheetData, wording: Wording, *, width_mm: float, height_mm: float
) -> draw.Built:
    """The section as large as its sizes leave room for, solid black as thin sections are drawn."""
    drawing = draw.Drawing(width_mm, height_mm + kept_mm, described=wording.word("alt.section"))
    outline, thick_mm = sheet.finished.outline_mm, sheet.pattern.thickness_mm
    section = draw.bounds((across, -up) for across, up in outline)
    smaller = 1.0 - kept_mm / drawing.height_mm
    room = (drawing.width_mm - 2 * MARGIN_MM) * smaller, (drawing.height_mm - MARGIN_MM) * smaller
    scale = min(
        draw.scale_for(section.width_mm, room[0], largest=3.0), draw.scale_for(section.height_mm, room[1], largest=3.0)
    )
    middle, centre = section.centre_mm, drawing.frame.centre_mm

    def spot(point: Point) -> Point:
        return centre[0] + (point[0] - middle[0]) * scale, centre[1] + (-point[1] - middle[1]) * scale

    pen = draw.MEDIUM if thick_mm * scale < 0.8 else draw.THIN
    drawing = drawing.adding([draw.Line(tuple(map(spot, outline)), pen, closed=True, fill="black")])
    sizes = list(_leg_sizes(sheet, spot, drawing, wording))
    drawing = drawing.adding(line for size in sizes for line in size.lines)
    caret, told = _marked_face(sheet, spot, wording)
    drawing = drawing.adding([caret])
    return drawing, [*_angles(sheet, spot, scale, wording), *(size.label for size in sizes), told]


def drawn_sizes_mm(part: Part, pattern: FlatPattern) -> tuple[float | None, ...]:
    """A size for every flat of the section: the legs, and none on the web of an offset, whose step is told instead."""
    legs, bends = iter(part.section.legs_mm), {bend.number: bend for bend in part.section.bends}
    found: list[float | None] = [next(legs)]
    for zone in pattern.zones:
        if zone.label.endswith("a"):
            found.append(bends[zone.bend].offset_mm if zone.turn_deg == 90.0 else None)
        else:
            found.append(next(legs))
    return tuple(found)


def _leg_sizes(sheet: SheetData, spot: Spot, drawing: draw.Drawing, wording: Wording) -> Iterator[draw.Dimension]:
    """A dimension beside each leg, on the side where less is drawn already."""
    ink = draw.clean(drawing.frame).with_lines(drawing.lines())
    flats, sizes_mm = sheet.finished.flats, drawn_sizes_mm(sheet.part, sheet.pattern)
    allowed_mm = {row.leg: row.allowed for row in sheet.measures if row.leg is not None}
    for place, (flat, size_mm) in enumerate(zip(flats, sizes_mm, strict=True)):
        if size_mm is None:
            continue
        start, end = map(spot, mould_ends(flat, size_mm, first=place == 0, last=place == len(flats) - 1))
        leg = flat.face.number if flat.face.number <= len(sheet.part.section.legs_mm) else None
        half_mm = allowed_mm.get(leg) if leg is not None else None
        name = f"L{leg}" if leg is not None else ""
        words = f"{name} ".lstrip()
        words += wording.size(size_mm) + ("" if half_mm is None else f" ±{wording.size(half_mm)}")
        sides = [draw.linear(start, end, off_mm=off_mm, words=words, size_mm=SIZE_MM) for off_mm in (OFF_MM, -OFF_MM)]
        size = min(sides, key=lambda side: draw.crossed(side, ink))
        yield replace(size, label=replace(size.label, bold=True, name=name))


def mould_ends(flat: Flat, size_mm: float, *, first: bool, last: bool) -> tuple[Point, Point]:
    """The leg's ends as the drawing sizes it: what the flat lacks to the size is added at its bend ends alike."""
    right, up, length_mm = draw.towards(flat.start_mm, flat.end_mm)
    if length_mm < 1e-9:
        return flat.start_mm, flat.end_mm
    over_mm = (size_mm - length_mm) / ((not first) + (not last) or 1)
    start = flat.start_mm if first else draw.moved(flat.start_mm, (right, up), -over_mm)
    return start, flat.end_mm if last else draw.moved(flat.end_mm, (right, up), over_mm)


def _angles(sheet: SheetData, spot: Spot, scale: float, wording: Wording) -> Iterator[draw.Label]:
    """Each bend once, on the inner side of its corner: letter, angle or hem or offset, tolerance, up or down."""
    bends = {bend.number: bend for bend in sheet.part.section.bends}
    for (before, behind), zone in zip(pairwise(sheet.finished.flats), sheet.pattern.zones, strict=True):
        if zone.label.endswith("b"):
            continue
        corner = draw.between(before.end_mm, behind.start_mm)
        inner = draw.between(draw.between(before.start_mm, before.end_mm), draw.between(behind.start_mm, behind.end_mm))
        right, up, _ = draw.towards(corner, inner)
        at = spot(corner)
        prefer = ((round(right, 3), round(-up, 3)), draw.RIGHT, draw.LEFT, draw.ABOVE, draw.BELOW)
        lines = tuple(bend_lines(bends[zone.bend], zone, sheet, wording))
        gap_mm = 1.2 + sheet.pattern.thickness_mm * scale / 2
        yield draw.Label(lines, at, SIZE_MM, True, prefer, gap_mm, name=bend_mark(zone.bend))


def bend_lines(bend: WantedBend, zone: BendZone, sheet: SheetData, wording: Wording) -> Iterator[str]:
    """A bend in words: `A 90° ±1°` and up or down; a hem and an offset by their sizes."""
    mark, way = bend_mark(zone.bend), wording.word("bends-up" if zone.toward else "bends-down")
    row = next((each for place, each in enumerate(sheet.measures) if each.leg is None and place == zone.bend - 1), None)
    allowed = row.allowed if row is not None else None
    if bend.kind == "hem":
        closed = "closed" if not bend.gap_mm else "open"
        size = wording.size(row.nominal) if row is not None else ""
        yield f"{mark} {wording.word(f'hem-{closed}', size=size)}"
    elif bend.kind == "offset":
        yield f"{mark} {wording.word('offset-by', size=wording.size(bend.offset_mm))}"
    else:
        half = "" if allowed is None else f" ±{wording.tolerance(allowed)}"
        yield f"{mark} {wording.written('turn_deg', 180.0 - zone.turn_deg)}{half}"
    yield way


def _marked_face(sheet: SheetData, spot: Spot, wording: Wording) -> tuple[draw.Line, draw.Label]:
    """A triangle on the marked face of the longest flat, and what it means."""
    flat = max(sheet.finished.flats, key=lambda each: math.dist(each.start_mm, each.end_mm))
    right, up, _ = draw.towards(flat.start_mm, flat.end_mm)
    # The blank lies with its marked face up and its start edge at the right, so the run goes to the left below it.
    out = (up, -right)
    foot = draw.moved(draw.between(flat.start_mm, flat.end_mm, 0.62), out, sheet.pattern.thickness_mm / 2)
    at, beyond = spot(foot), spot(draw.moved(foot, out, 1.0))
    x, y, _ = draw.towards(at, beyond)
    base = draw.moved(at, (x, y), CARET_MM)
    corners = (draw.moved(base, (-y, x), CARET_MM / 2), draw.moved(base, (y, -x), CARET_MM / 2))
    label = draw.Label((wording.word("marked-here"),), base, 3.0, False, ((round(x, 3), round(y, 3)),))
    return draw.Line((at, *corners), None, closed=True, fill="black"), label
