"""How the part lies for a hit, small and from above: backgauge at the top, stops, bend line, datum corner."""

from __future__ import annotations

from collections.abc import Iterator

from flangewise import drawing as draw
from flangewise.sheet import loading_view as loading
from flangewise.sheet.data import SheetData, SheetStep
from flangewise.sheet.marks import bend_mark, ringed
from flangewise.sheet.wording import Wording

STOP_MM = (4.0, 3.2)
SIDE_MM = 6.0
LEAST_DEEP_MM = 4.0


def lie_picture(
    sheet: SheetData, step: SheetStep, wording: Wording, *, width_mm: float, height_mm: float
) -> draw.Drawing:
    """The part from above in a fixed room: to scale in each direction, the two scales apart where it is very long."""
    drawing = draw.Drawing(width_mm, height_mm, described=wording.word("alt.lie"))
    back_mm, front_mm = loading.rearmost_mm(step), loading.reach(step.before.outline_mm)[1]
    long_mm = sheet.pattern.along_bends_mm
    room = draw.Box(SIDE_MM, STOP_MM[1] + 0.8, width_mm - SIDE_MM, height_mm - 0.6)
    deep_scale = min(room.height_mm / (front_mm - back_mm), room.width_mm / long_mm)
    deep_scale = max(deep_scale, min(room.height_mm, LEAST_DEEP_MM * 2.5) / (front_mm - back_mm))
    along_scale = min(deep_scale, room.width_mm / long_mm)
    left = room.centre_mm[0] - long_mm * along_scale / 2

    def at(from_left_mm: float, across_mm: float) -> tuple[float, float]:
        return left + from_left_mm * along_scale, room.top_mm + (across_mm - back_mm) * deep_scale

    def lines() -> Iterator[draw.Item]:
        least, most = loading.reach(step.before.outline_mm)
        box = draw.Box(*at(0.0, least), *at(long_mm, most))
        yield draw.Line(box.corners_mm, draw.MEDIUM, closed=True)
        for across_mm in loading.edges_seen(step.before.outline_mm):
            yield draw.Line((at(0.0, across_mm), at(long_mm, across_mm)), draw.THIN)
        for hole in sheet.pattern.holes:
            rim = loading.hole_seen(hole, step, points=loading.rim_of(hole), thickness_mm=sheet.pattern.thickness_mm)
            if rim is not None:
                turned = ((long_mm - x if loading.flipped(step) else x, y) for x, y in rim)
                yield draw.Line(tuple(at(*spot) for spot in turned), draw.THIN, closed=True)
        yield from _stops()
        yield from _datum(box)
        for seen in loading.lines_seen(sheet.pattern, step):
            if seen.state == "active":
                here, there = at(0.0, seen.across_mm), at(long_mm, seen.across_mm)
                yield draw.Line(((here[0] - 2.0, here[1]), (there[0] + 1.0, there[1])), draw.BOLD)
                yield from ringed(
                    bend_mark(seen.label),
                    (min(there[0] + 3.2, width_mm - 2.8), min(max(there[1], 2.6), height_mm - 2.6)),
                    size_mm=3.0,
                )

    def _stops() -> Iterator[draw.Item]:
        for z_mm in step.keyed.stops.z_mm:
            from_left_mm = min(max(z_mm - step.keyed.part_from_mm, 0.0), long_mm)
            x, y = at(from_left_mm, step.rear_mm)
            yield draw.Line(
                draw.Box(x - STOP_MM[0] / 2, y - STOP_MM[1], x + STOP_MM[0] / 2, y - 0.3).corners_mm,
                draw.THIN, closed=True, fill="white",
            )  # fmt: skip

    def _datum(box: draw.Box) -> Iterator[draw.Item]:
        from_left_mm = long_mm if loading.flipped(step) else 0.0
        corner = at(from_left_mm, step.before.flats[0].start_mm[0])
        inward = (-1.0 if loading.flipped(step) else 1.0, 1.0 if step.start_at == "backgauge" else -1.0)
        yield draw.datum(corner, inward, leg_mm=min(3.2, 0.5 * box.height_mm))

    return drawing.adding(lines())
