"""Hatching: parallel lines over a closed shape, never closer than 1 mm of paper."""

import math
from collections.abc import Sequence

from flangewise.drawing.clip import crossings_mm
from flangewise.drawing.items import Line
from flangewise.drawing.pens import HATCH_PITCH_MM, THIN, Point


def hatch(
    outline_mm: Sequence[Point], *, pitch_mm: float = HATCH_PITCH_MM, angle_deg: float = 45.0
) -> tuple[Line, ...]:
    """Lines at an angle that fill a closed outline, even-odd where it crosses itself.

    Edges: a shape narrower than the pitch may get no line. Raises ValueError for a pitch under 1 mm, which a
    photocopy closes to black.
    """
    if pitch_mm < 1.0:
        raise ValueError("hatch lines closer than 1 mm run together on a copy")
    turned = [_turn(point, -angle_deg) for point in outline_mm]
    first = math.floor(min(down for _, down in turned) / pitch_mm) + 1
    last = math.ceil(max(down for _, down in turned) / pitch_mm)
    lines: list[Line] = []
    for row in range(first, last):
        # Half a hundredth aside, so that no corner lies exactly on a hatch line.
        level_mm = row * pitch_mm + 0.005
        crossings = crossings_mm(turned, level_mm)
        for left, right in zip(crossings[::2], crossings[1::2], strict=False):
            ends = (_turn((left, level_mm), angle_deg), _turn((right, level_mm), angle_deg))
            lines.append(Line(ends, THIN))
    return tuple(lines)


def _turn(point: Point, angle_deg: float) -> Point:
    sine, cosine = math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg))
    return (point[0] * cosine - point[1] * sine, point[0] * sine + point[1] * cosine)
