"""How sheet and tools lie at each moment of an air bend: the straight-flange formula.

Each wing's outer face is tangent to the sheet's outer arc and to the die's shoulder arc. With half turn
a, tangent opening V, shoulder radius rd, inside radius r, thickness t, the arc's centre stands at

    yc = ((r + t + rd) - (V/2) sin a) / cos a - rd          D = -(yc - max(r, 0))

above the die top, and D is the depth of the punch nose below it. Exact for a circular arc and straight
flanges (plane geometry of three tangent circles and a line). Formula held for 0 <= a < 90 degrees.
Source: derived here, as the straight flanges of `bend.hand`.
"""

import math
from typing import TypeVar

import numpy as np

from flangewise.geometry import Points
from flangewise.records import dataclass

Halves = TypeVar("Halves", float, Points)


@dataclass(frozen=True)
class Stroke:
    """One air bend from flat to `half_turn_deg` on each side (the loaded turn is twice that).

    `radius_mm` is the inside radius formed, constant through the stroke; minus t/2 means sharp middle-surface corners.
    `zone_mm` is the developed width of the zone: it is used up as the arc grows, in proportion to the turn. Raises
    ValueError when the half turn is not between 0 and 90 degrees.
    """

    opening_mm: float
    shoulder_radius_mm: float
    thickness_mm: float
    radius_mm: float
    zone_mm: float
    half_turn_deg: float

    def __post_init__(self) -> None:
        if not 0 < self.half_turn_deg < 90:
            raise ValueError("a stroke's half turn lies between 0 and 90 degrees")

    def centre_mm(self, half_deg: Halves) -> Halves:
        """Height of the bend arc's centre above the die top, at one moment or many."""
        a = np.radians(half_deg)
        reach = self.radius_mm + self.thickness_mm + self.shoulder_radius_mm
        centres: Halves = (reach - self.opening_mm / 2 * np.sin(a)) / np.cos(a) - self.shoulder_radius_mm
        return centres

    def depth_mm(self, half_deg: Halves) -> Halves:
        """Depth of the punch nose below the die top (-t at first touch). A sharp corner is met at r = 0."""
        a = np.radians(half_deg)
        radius = max(self.radius_mm, 0.0)
        rise = 1 / np.cos(a) - 1
        depths: Halves = (
            self.opening_mm / 2 * np.tan(a) - (radius + self.shoulder_radius_mm) * rise - self.thickness_mm / np.cos(a)
        )
        return depths

    def edge_mm(self, half_deg: Halves) -> Points:
        """Where the front wing's frame stands: the zone's edge on the middle surface, (across, up) of each moment."""
        a = np.radians(half_deg)
        middle, rest = self.radius_mm + self.thickness_mm / 2, self.zone_mm / 2 * (1 - half_deg / self.half_turn_deg)
        cos, sin = np.cos(a), np.sin(a)
        edge: Points = np.empty((*np.shape(half_deg), 2))
        edge[..., 0] = middle * sin + rest * cos
        edge[..., 1] = self.centre_mm(half_deg) - middle * cos + rest * sin
        return edge

    def laid_mm(self, points_mm: Points, halves_deg: Points, *, from_nose: bool = False) -> Points:
        """Points of the front wing in the machine, or from the punch nose, at many moments: (moments, points, 2)."""
        a = np.radians(halves_deg)
        cos, sin = np.cos(a)[:, None], np.sin(a)[:, None]
        across, up = points_mm[:, 0], points_mm[:, 1]
        origin = self.edge_mm(halves_deg)
        if from_nose:
            origin[:, 1] += self.depth_mm(halves_deg)
        laid: Points = np.empty((len(halves_deg), len(points_mm), 2))
        laid[..., 0] = across * cos - up * sin + origin[:, :1]
        laid[..., 1] = across * sin + up * cos + origin[:, 1:]
        return laid

    def seen_mm(self, points_mm: Points, half_deg: Halves, *, with_ram: bool) -> Points:
        """Points of a body, as the front wing sees them at one moment of the stroke or many: (moments, points, 2)."""
        return self.seen_at(points_mm, *self.sight(half_deg, with_ram=with_ram))

    def sight(self, half_deg: Halves, *, with_ram: bool) -> tuple[Points, Points]:
        """How the front wing sees bodies at one moment or many: what they are shifted by, and the cosine and sine of
        what they are turned back by then."""
        shifts = -self.edge_mm(half_deg)
        if with_ram:
            shifts[..., 1] -= self.depth_mm(half_deg)
        a: Points = np.radians(half_deg)
        turns = np.empty_like(shifts)
        turns[..., 0], turns[..., 1] = np.cos(a), np.sin(a)
        return shifts[..., None, :], turns[..., None, :]

    @staticmethod
    def seen_at(points_mm: Points, shifts: Points, turns: Points) -> Points:
        """Points of a body in such a sight: (moments, points, 2)."""
        moved = points_mm + shifts
        seen: Points = np.empty_like(moved)
        seen[..., 0] = turns[..., 0] * moved[..., 0] + turns[..., 1] * moved[..., 1]
        seen[..., 1] = turns[..., 0] * moved[..., 1] - turns[..., 1] * moved[..., 0]
        return seen

    def poles_mm(self, *, with_ram: bool) -> tuple[Points, float]:
        """Where a body point would have to be to move straight, through the stroke, and their spread.

        In the wing's frame a body point p moves as R(-a) p + c(a), so its path curves by |p - q(a)| per
        rad^2 with q = R(a) c''(a). Returned are 65 samples of q and the largest step between two of them,
        which is to be added as what the samples may miss.
        """
        count = 65
        angles = np.linspace(0.0, self.half_turn_deg, 2 * count + 1)
        at = self.seen_mm(np.zeros((1, 2)), angles, with_ram=with_ram)[:, 0]
        step = math.radians(angles[1])
        second = (at[2:] - 2 * at[1:-1] + at[:-2])[::2] / step**2
        turn = np.radians(angles[1:-1:2])
        cos, sin = np.cos(turn), np.sin(turn)
        poles = np.column_stack([cos * second[:, 0] - sin * second[:, 1], sin * second[:, 0] + cos * second[:, 1]])
        return poles, float(np.linalg.norm(np.diff(poles, axis=0), axis=1).max())
