"""A bent sheet as complex numbers: across is real, up is imaginary, arcs drawn to a few thousandths.

A wing is what lies outward of the bend being made: flats and bend zones in turn, from the zone's edge to the free edge,
heading along the real axis at first. What is drawn is the middle of the sheet.
"""

from __future__ import annotations

import cmath
import itertools
import math
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import numpy as np
import shapely

Line = np.ndarray[Any, np.dtype[np.complex128]]

SAGITTA_MM = 0.004


@dataclass(frozen=True)
class Strip:
    """A flat (`turn_deg` 0 and no `zone`), or a bend zone of the section, turned up by so much as it lies now.

    `number` counts flats and zones apart, from the start edge. `width_mm` is the sheet in it.
    """

    number: int
    is_zone: bool
    width_mm: float
    turn_deg: float = 0.0
    middle_radius_mm: float = 0.0


def arc(radius_mm: float, from_deg: float, to_deg: float) -> Line:
    """Points of an arc that begins at 0 heading `from_deg` and ends heading `to_deg`, the first left out."""
    turn = math.radians(to_deg - from_deg)
    if radius_mm < 1e-9 or abs(turn) < 1e-12:
        return np.zeros(1, dtype=complex)
    chord = 2 * math.acos(max(0.0, 1 - SAGITTA_MM / radius_mm)) or 0.1
    count = max(1, math.ceil(abs(turn) / min(chord, math.radians(15))))
    swept = np.linspace(0.0, turn, count + 1)[1:]
    start = math.radians(from_deg)
    side = math.copysign(1.0, turn)
    centre = 1j * side * radius_mm * cmath.exp(1j * start)
    points: Line = centre - 1j * side * radius_mm * np.exp(1j * (start + swept))
    return points


class Wing:
    """Strips from the bend outward; two of the same strips are one object (see `wing_of`)."""

    def __init__(self, strips: tuple[Strip, ...]) -> None:
        self.strips = strips

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """The points of every strip, each beginning where the one before ends."""
        at, heading_deg, found = 0j, 0.0, []
        for strip in self.strips:
            ahead = cmath.exp(1j * math.radians(heading_deg))
            if strip.turn_deg:
                bow = arc(strip.middle_radius_mm, heading_deg, heading_deg + strip.turn_deg)
                points = np.concatenate([[at], at + bow])
                heading_deg += strip.turn_deg
            else:
                points = np.array([at, at + strip.width_mm * ahead])
            found.append(points)
            at = points[-1]
        return tuple(found)

    @cached_property
    def whole(self) -> Line:
        """All points, from the zone's edge to the free edge."""
        line: Line = np.concatenate([self.lines[0], *(part[1:] for part in self.lines[1:])])
        return line

    @cached_property
    def beyond(self) -> Line | None:
        """The same without the first flat; None where there is nothing more."""
        parts = self.lines[1:]
        if not parts:
            return None
        line: Line = np.concatenate([parts[0], *(part[1:] for part in parts[1:])])
        return line

    @cached_property
    def slope_deg(self) -> float:
        """Heading of the last flat."""
        return sum(strip.turn_deg for strip in self.strips)

    @cached_property
    def formed(self) -> int | None:
        """The place of the nearest formed zone."""
        return next((place for place, strip in enumerate(self.strips) if strip.turn_deg), None)

    @cached_property
    def developed_mm(self) -> float:
        """The sheet in it."""
        return sum(strip.width_mm for strip in self.strips)

    @cached_property
    def moment_mm2(self) -> float:
        """First moment of the sheet across: a formed zone weighs what its strip of blank weighed."""
        total = 0.0
        for strip, line in zip(self.strips, self.lines, strict=True):
            sides = np.abs(np.diff(line))
            length = float(sides.sum())
            middles = (line[1:].real + line[:-1].real) / 2
            middle = float((middles * sides).sum()) / length if length > 1e-12 else float(line[0].real)
            total += strip.width_mm * middle
        return total

    @cached_property
    def far_mm(self) -> float:
        """Farthest out."""
        return float(self.whole.real.max())

    @cached_property
    def _reach(self) -> dict[float, float]:
        return {}

    def reach_mm(self, half_mm: float) -> float:
        """The farthest point from a bend line `half_mm` before its beginning."""
        if half_mm not in self._reach:
            self._reach[half_mm] = float(np.abs(self.whole + half_mm).max())
        return self._reach[half_mm]

    @cached_property
    def _risen(self) -> dict[float, float]:
        return {}

    def top_mm(self, turned_deg: float) -> float:
        """The highest point once it has swung up by so much, nothing below its beginning."""
        if turned_deg not in self._risen:
            a = math.radians(turned_deg)
            line = self.whole
            self._risen[turned_deg] = max(0.0, float((line.real * math.sin(a) + line.imag * math.cos(a)).max()))
        return self._risen[turned_deg]

    @cached_property
    def low_mm(self) -> float:
        """The lowest point, 0 at the most."""
        return min(0.0, float(self.whole.imag.min()))

    @cached_property
    def inward(self) -> tuple[Wing, ...]:
        """The wing cut off after each of its flats, nearest first; the last is itself."""
        cut = (wing_of(self.strips[: place + 1]) for place in range(0, len(self.strips) - 1, 2))
        return (*cut, self)


@cache
def wing_of(strips: tuple[Strip, ...]) -> Wing:
    """The one wing of these strips."""
    return Wing(strips)


def sheet_of(line: Line, thickness_mm: float) -> shapely.Geometry:
    """The sheet about a line of its middle, its ends cut square."""
    distinct = [line[0], *(b for a, b in itertools.pairwise(line) if abs(b - a) > 1e-9)]
    if len(distinct) < 2:
        return shapely.Polygon()
    return shapely.LineString(plane(np.array(distinct))).buffer(thickness_mm / 2, cap_style="flat", quad_segs=12)


def plane(line: Line) -> Any:
    """Complex numbers as rows of (across, up)."""
    return np.stack([line.real, line.imag], axis=-1)


def mirrored(line: Line) -> Line:
    """The line as it lies on the other side of the centre plane."""
    result: Line = -line.conj()
    return result
