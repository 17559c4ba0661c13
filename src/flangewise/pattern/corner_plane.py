"""Where a flange ends at a corner: the plane between two flanges, and the line on which a flange stays clear of it.

The plane goes through the corner of the base's mould lines, upright on the face, along the bisector of the corner. A
flange on a flange inherits it. For the first flange of turn a at a corner of interior angle g the line is
u = (t sin a - v cos a) cot(g/2) + gap / (2 sin(g/2)); for two square ones u = t + gap/sqrt 2, and a return on them at
90 degrees has u = v + gap/sqrt 2: the mitre of a picture frame. Derived here.
"""

from __future__ import annotations

import math

import numpy as np

from flangewise.geometry import Edge, Frame, Vector
from flangewise.pattern.walk import EndLine
from flangewise.records import dataclass


@dataclass(frozen=True)
class CornerPlane:
    """A plane in space: a point of it, and its unit normal toward the flange that is to stay clear."""

    point_mm: Vector
    toward: Vector


def corner_plane(before: Edge, after: Edge, stand: Frame, *, of_after: bool) -> CornerPlane:
    """The plane of the corner between two edges of a face that stands at `stand`, toward one of its two flanges."""
    back, on = np.array([-before.along[0], -before.along[1]]), np.array(after.along)
    own = on if of_after else back
    bisector = (back + on) / np.linalg.norm(back + on)
    normal = own - (own @ bisector) * bisector
    normal = normal / np.linalg.norm(normal)
    turned = stand.turn([(float(normal[0]), float(normal[1]), 0.0)])[0]
    point = stand.place([(*after.first_mm, 0.0)])[0]
    return CornerPlane(_vector(point), _vector(turned))


def line_clear_of(
    plane: CornerPlane, edge: Edge, stand: Frame, *, out_mm: float, thickness_mm: float, gap_mm: float
) -> EndLine:
    """The end line on which both skins of a finished flange stay half the gap clear of a plane.

    `stand` is the finished flange's frame, `out_mm` how far outward of the edge its place v = 0 lies on the blank.
    """
    q = np.array(plane.toward)
    directions = stand.turn([(*edge.along, 0.0), (*edge.outward, 0.0), (0.0, 0.0, 1.0)])
    along, outward, normal = (float(q @ each) for each in directions)
    start = stand.place([(*edge.at(0.0, out_mm), 0.0)])[0]
    need_mm = gap_mm / 2 + thickness_mm / 2 * abs(normal) - float(q @ (start - np.array(plane.point_mm)))
    return EndLine(need_mm / along, -outward / along)


def square_end(at_mm: float, mitre_deg: float, *, left: bool) -> EndLine:
    """A square end, or one cut `mitre_deg` inward from it."""
    slope = math.tan(math.radians(mitre_deg))
    return EndLine(at_mm, slope if left else -slope)


def _vector(values: np.ndarray) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])
