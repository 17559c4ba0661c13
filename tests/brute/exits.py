"""How far the ram must open for the part to be brought in and taken out to the front without turning it.

Each side of a body slides along each piece of the sheet: the quadrangles so swept, and the body itself, are the places
where the part may not be. From where it lies it must come to the front through what is left; the ram goes up with all
that hangs on it. The rule counts the lift in steps of 5 mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity

from .fold import Line, plane
from .rack import Tools

STEP_MM = 5.0
ENDLESS_MM, BEHIND_MM, SHADOW_MM = 4000.0, 400.0, 1500.0
COARSE_MM = 0.02
# Corners nearer than this are one, or the union stumbles over its own rounding.
GRID_MM = 1e-5


def _endless(body: shapely.Polygon, *, upward: bool) -> shapely.Geometry:
    """The outermost body goes on: above it, or below it, no part can pass."""
    points = np.array(body.exterior.coords)
    sign = 1.0 if upward else -1.0
    level = (sign * points[:, 1]).max()
    edge = points[np.abs(sign * points[:, 1] - level) < 1e-6][:, 0]
    far = sign * (level + ENDLESS_MM)
    return shapely.box(edge.min(), min(sign * level, far), edge.max(), max(sign * level, far))


def _outermost(bodies: tuple[tuple[str, shapely.Polygon], ...], *, upward: bool) -> shapely.Polygon:
    def end(body: shapely.Polygon) -> float:
        return float(body.bounds[3]) if upward else -float(body.bounds[1])

    return max((body for _, body in bodies), key=end)


_OBSTACLES: dict[int, tuple[Tools, tuple[list[shapely.Polygon], list[shapely.Polygon]]]] = {}


def obstacles(tools: Tools) -> tuple[list[shapely.Polygon], list[shapely.Polygon]]:
    """What stands and what is lifted, with their endless ends."""
    if id(tools) not in _OBSTACLES:
        _OBSTACLES[id(tools)] = tools, _obstacles(tools)
    return _OBSTACLES[id(tools)][1]


def _obstacles(tools: Tools) -> tuple[list[shapely.Polygon], list[shapely.Polygon]]:
    found = []
    for bodies, upward in ((tools.standing, False), (tools.coming, True)):
        whole = shapely.union_all(
            [*(body for _, body in bodies), _endless(_outermost(bodies, upward=upward), upward=upward)]
        )
        parts = [part for part in shapely.get_parts(shapely.simplify(whole, COARSE_MM)) if part.geom_type == "Polygon"]
        found.append(parts)
    return found[0], found[1]


_SHADOWS: dict[int, tuple[Tools, tuple[shapely.Geometry, shapely.Geometry]]] = {}


def _shadows(tools: Tools) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Where a piece of the part would meet what stands, or what is lifted, on its way straight to the front."""
    if id(tools) not in _SHADOWS:
        found = []
        for bodies in obstacles(tools):
            pieces: list[shapely.Geometry] = []
            for body in bodies:
                ring = np.array(body.exterior.coords)
                behind = ring - np.array([SHADOW_MM, 0.0])
                corners = np.stack([ring[:-1], ring[1:], behind[1:], behind[:-1]], axis=1)
                pieces += [body, *shapely.convex_hull(shapely.linestrings(corners))]
            found.append(shapely.union_all(pieces, grid_size=GRID_MM))
        _SHADOWS[id(tools)] = tools, (found[0], found[1])
    return _SHADOWS[id(tools)][1]


def _forbidden(bodies: list[shapely.Polygon], line: Line, grow_mm: float) -> shapely.Geometry:
    points = plane(line)
    sides = np.stack([points[:-1], points[1:]], axis=1)
    pieces: list[shapely.Geometry] = []
    for body in bodies:
        ring = np.array(body.exterior.coords)
        edges = np.stack([ring[:-1], ring[1:]], axis=1)
        corners = (edges[:, None, :, None, :] - sides[None, :, None, :, :]).reshape(-1, 4, 2)
        pieces.extend(shapely.convex_hull(shapely.linestrings(corners)))
        pieces.append(shapely.affinity.translate(body, -points[0, 0], -points[0, 1]))
    return shapely.buffer(shapely.union_all(pieces, grid_size=GRID_MM), grow_mm)


@dataclass(frozen=True)
class Way:
    """A part among its tools, the nose at `nose_mm`."""

    tools: Tools
    line: Line
    thickness_mm: float
    nose_mm: float
    tight_mm: float

    @cached_property
    def _places(self) -> tuple[shapely.Geometry, shapely.Geometry, float]:
        line = np.array(shapely.simplify(shapely.LineString(plane(self.line)), COARSE_MM).coords)
        thin: Line = line[:, 0] + 1j * line[:, 1]
        standing, coming = obstacles(self.tools)
        grow = max(0.0, self.thickness_mm / 2 - self.tight_mm)
        fixed = _forbidden(standing, thin, grow)
        moving = shapely.affinity.translate(_forbidden(coming, thin, grow), 0.0, self.nose_mm)
        reach = max(abs(x) for body in (*standing, *coming) for x in (body.bounds[0], body.bounds[2]))
        return fixed, moving, float(reach - self.line.real.min() + self.thickness_mm + 1.0)

    def slips_out_at(self, lift_mm: float) -> bool:
        """Whether a short way is free: up, with the punch or after it, or down from it, then straight to the front."""
        if lift_mm <= 0:
            return False
        ups = np.linspace(0.0, lift_mm, max(2, int(np.ceil(lift_mm)) + 1))
        free = self.thickness_mm / 2 - self.tight_mm
        standing, coming = (shapely.union_all(bodies) for bodies in obstacles(self.tools))
        raised = self.line[None, :] + 1j * ups[:, None]
        strings = shapely.linestrings(np.stack([raised.real, raised.imag], axis=-1))
        under = shapely.affinity.translate(coming, 0.0, self.nose_mm + lift_mm)
        clear = shapely.distance(strings, standing) >= free
        between = clear & (shapely.distance(strings, under) >= free)
        ahead, over = _shadows(self.tools)
        over = shapely.affinity.translate(over, 0.0, self.nose_mm + lift_mm)
        straight = (shapely.distance(strings, ahead) >= free) & (shapely.distance(strings, over) >= free)
        sunk = self.line[None, :] - 1j * (self.nose_mm + ups)[:, None]
        left = shapely.distance(shapely.linestrings(np.stack([sunk.real, sunk.imag], axis=-1)), coming) >= free
        if left.all() and (np.logical_and.accumulate(between) & straight).any():
            return True
        return bool(clear.all() and (np.logical_and.accumulate(between[::-1])[::-1] & straight).any())

    def open_at(self, lift_mm: float) -> bool:
        """Whether the part comes to the front with the nose lifted so far."""
        fixed, moving, front = self._places
        starts = []
        if self.stays(lift_mm):
            starts.append(shapely.Point(0.0, 0.0))
        if not shapely.intersects(fixed, shapely.LineString([(0, 0), (0, lift_mm)])):
            starts.append(shapely.Point(0.0, lift_mm))
        if not starts:
            return False
        room = shapely.box(-BEHIND_MM, -ENDLESS_MM / 2, front, ENDLESS_MM / 2)
        free = shapely.difference(room, shapely.union(fixed, shapely.affinity.translate(moving, 0.0, lift_mm)))
        gate = shapely.LineString([(front, -1000.0), (front, 1000.0)])
        ways = [part for part in shapely.get_parts(free) if shapely.intersects(part, gate)]
        return any(shapely.intersects(way, start) for way in ways for start in starts)

    def stays(self, lift_mm: float) -> bool:
        """Whether the nose can be lifted off the part where it lies: then it can be slid out along the bed too."""
        fixed, moving, _ = self._places
        risen = shapely.intersects(moving, shapely.LineString([(0, 0), (0, -lift_mm)]))
        return not risen and not shapely.intersects(fixed, shapely.Point(0, 0))

    def least_lift_mm(self, most_mm: float) -> float | None:
        """The least lift in steps of 5 mm, by halving; None where even the most is not enough."""
        high = int(np.floor(most_mm / STEP_MM))
        if high < 1 or not self.open_at(high * STEP_MM):
            return None
        low = 0
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.open_at(middle * STEP_MM) else (middle, high)
        return high * STEP_MM
