"""Pictures in space: the finished panel, seen from above, the operator's side to the lower left."""

from __future__ import annotations

from collections.abc import Sequence

from flangewise import drawing as draw
from flangewise.pattern import Blank, part_facets

MARGIN_MM = 3.0


def finished_picture(blank: Blank, *, width_mm: float, height_mm: float, described: str) -> draw.Drawing:
    """The finished part in a room of that size."""
    return in_space([draw.Body(part_facets(blank))], width_mm=width_mm, height_mm=height_mm, described=described)


def in_space(
    bodies: Sequence[draw.Body],
    *,
    width_mm: float,
    height_mm: float,
    described: str,
    eye: draw.Eye = draw.ISOMETRIC,
) -> draw.Drawing:
    """Bodies before the eye, as large as a round scale lets them be, in the middle of the picture."""
    box = draw.seen_box_mm(bodies, eye)
    room = (width_mm - 2 * MARGIN_MM, height_mm - 2 * MARGIN_MM)
    scale = min(draw.scale_for(box.width_mm, room[0]), draw.scale_for(box.height_mm, room[1]))
    (x, y) = box.centre_mm
    at_mm = width_mm / 2 - x * scale, height_mm / 2 - y * scale
    return draw.Drawing(width_mm, height_mm, draw.seen(bodies, scale=scale, at_mm=at_mm, eye=eye), described=described)
