"""Pictures in space: the finished panel, seen from above, the operator's side to the lower left."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from flangewise import drawing as draw
from flangewise.geometry import Point
from flangewise.pattern import Blank, part_facets

MARGIN_MM = 2.0
LARGEST = 2.0
"""No small part is drawn larger than so many times its size: pictures in space are looked at, not measured."""
Spot = Callable[[Sequence[float]], Point]
"""From a place in space to its place on paper."""


def finished_picture(blank: Blank, *, width_mm: float, height_mm: float, described: str) -> draw.Drawing:
    """The finished part in a room of that size."""
    body = draw.SpaceBody(part_facets(blank))
    return in_space([body], width_mm=width_mm, height_mm=height_mm, described=described)[0]


def in_space(
    bodies: Sequence[draw.SpaceBody],
    *,
    width_mm: float,
    height_mm: float,
    described: str,
    eye: draw.Eye = draw.ISOMETRIC,
    down_mm: float = 0.0,
) -> tuple[draw.Drawing, Spot]:
    """Bodies before the eye, as large as the room lets them be, in the middle, so far down; and where places come to
    lie."""
    box = draw.seen_box_mm(bodies, eye)
    room = (width_mm - 2 * MARGIN_MM, height_mm - 2 * MARGIN_MM)
    scale = min(room[0] / box.width_mm, room[1] / box.height_mm, LARGEST)
    (x, y) = box.centre_mm
    at_mm = width_mm / 2 - x * scale, height_mm / 2 - y * scale + down_mm

    def spot(point: Sequence[float]) -> Point:
        right, up = eye.seen_at(point)
        return at_mm[0] + right * scale, at_mm[1] - up * scale

    items = draw.seen(bodies, scale=scale, at_mm=at_mm, eye=eye)
    return draw.Drawing(width_mm, height_mm, items, described=described), spot
