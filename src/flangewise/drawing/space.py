"""Bodies in space on paper: looked at from above and from the side, hidden lines left out.

Facets that look away from the eye are left out, the others are drawn from far to near, each filled so that it hides
what lies behind it. Sharp edges are drawn thick, smooth ones thin, but thick where the body turns from the eye.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.items import Box, Fill, Line, Pen, Point
from flangewise.drawing.partition import FacetPiece, back_to_front, piece_of
from flangewise.geometry import Facet
from flangewise.records import dataclass, replace

Points = NDArray[np.float64]
SHARP, SMOOTH = Pen(0.35), Pen(0.18)
# A facet that is seen from the side by less than this sine is not seen.
EDGE_ON = 1e-6
# So much larger is each piece filled, that no seam shows what lies behind where facets were cut.
SEAM_MM = 0.06


@dataclass(frozen=True)
class SpaceBody:
    """A body by its facets, and with what it is filled."""

    facets: Sequence[Facet]
    fill: Fill = "white"


@dataclass(frozen=True)
class Eye:
    """Where the eye stands, far off: `around_deg` from straight in front toward the right, `above_deg` up.

    30 degrees to each side and 35.26 above is the isometric view: three axes square to each other look equally long.
    """

    around_deg: float = 45.0
    above_deg: float = math.degrees(math.atan(math.sqrt(0.5)))

    @property
    def axes(self) -> tuple[Points, Points, Points]:
        """Unit vectors to the right of the picture, up it, and toward the eye, in (right, back, up)."""
        around, above = math.radians(self.around_deg), math.radians(self.above_deg)
        right = np.array([math.cos(around), math.sin(around), 0.0])
        to_eye = np.array([math.cos(above) * math.sin(around), -math.cos(above) * math.cos(around), math.sin(above)])
        return right, np.cross(to_eye, right), to_eye

    def flat(self, points_mm: Points) -> Points:
        """Points (n, 3) as the eye sees them: (n, 2), to the right and up."""
        right, up, _ = self.axes
        return np.column_stack([points_mm @ right, points_mm @ up])

    def seen_at(self, point_mm: Sequence[float]) -> Point:
        """One point as the eye sees it, to the right and up."""
        ((right, up),) = self.flat(np.array([point_mm], dtype=float))
        return float(right), float(up)


ISOMETRIC = Eye()


def seen_box_mm(bodies: Sequence[SpaceBody], eye: Eye = ISOMETRIC) -> Box:
    """The room that bodies take before the eye, in their own mm: to the right and down, the origin at (0, 0)."""
    points = np.vstack([facet.corners_mm for body in bodies for facet in body.facets])
    flat = eye.flat(points)
    (left, low), (right, high) = flat.min(axis=0), flat.max(axis=0)
    return Box(float(left), float(-high), float(right), float(-low))


def seen(bodies: Sequence[SpaceBody], *, scale: float, at_mm: Point, eye: Eye = ISOMETRIC) -> tuple[Line, ...]:
    """The bodies on paper, from far to near; the origin of space stands at `at_mm`."""
    _, _, to_eye = eye.axes
    pieces = [
        piece_of(facet, place)
        for place, body in enumerate(bodies)
        for facet in (_outlined(each, to_eye) for each in body.facets)
        if float(facet.normal @ to_eye) > EDGE_ON
    ]
    lines: list[Line] = []
    for piece in back_to_front(pieces, to_eye):
        flat = eye.flat(piece.corners_mm)
        spots = [(at_mm[0] + x * scale, at_mm[1] - y * scale) for x, y in flat.tolist()]
        lines.append(Line(_grown(spots), None, closed=True, fill=bodies[piece.body].fill))
        lines += _edges(piece, spots)
    return tuple(lines)


def _outlined(facet: Facet, to_eye: Points) -> Facet:
    """The facet, its smooth edges sharp where the body turns away from the eye beyond them."""
    edges = list(facet.edges)
    for place, normal in facet.beside:
        if float(np.array(normal) @ to_eye) <= EDGE_ON:
            edges[place] = "sharp"
    return replace(facet, edges=tuple(edges))


def _edges(piece: FacetPiece, spots: Sequence[Point]) -> Iterator[Line]:
    for at, kind in enumerate(piece.edges):
        if kind != "none":
            yield Line((spots[at], spots[(at + 1) % len(spots)]), SHARP if kind == "sharp" else SMOOTH)


def _grown(spots: Sequence[Point]) -> tuple[Point, ...]:
    """The ring a little larger about its middle."""
    middle = (sum(x for x, _ in spots) / len(spots), sum(y for _, y in spots) / len(spots))
    grown = []
    for x, y in spots:
        far = math.hypot(x - middle[0], y - middle[1])
        share = 1 + SEAM_MM / far if far > SEAM_MM else 1.0
        grown.append((middle[0] + (x - middle[0]) * share, middle[1] + (y - middle[1]) * share))
    return tuple(grown)
