"""What the stops can touch with the sheet flat on the die, where the finger then stands, and whether it has room.

The rules are the shop's: the rearmost raw edge, or the outer face of the nearest formed flange where that is rearmost,
or the fold of a hem; a slope of 70 degrees at the most for an edge, 20 degrees from square for a face of at least 5 mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
import shapely.affinity

from flangewise.shop import Handler, Machine

from .fold import Wing, sheet_of
from .poses import laid_out
from .rack import Blank, Choice
from .strikes import FREE, NEAR, STRUCK

REARMOST_MM = 0.01
EDGE_SLOPE_DEG, LEVEL_DEG, OFF_SQUARE_DEG, HEM_DEG, FACE_MM = 70.0, 1.0, 20.0, 175.0, 5.0
# Of the finger so much may lie in the part for a touch: 0.05, or what one who draws otherwise may take for it.
EARLY_MM, LATE_MM = 0.03, 0.09
HEIGHTS = 9
FAR_MM = 1000.0
SAME_MM = 1e-6


@dataclass(frozen=True)
class Stand:
    """Where the stop face stands behind the centre plane, and whether it nearly has no room there."""

    x_mm: float
    near: bool


@dataclass(frozen=True, eq=False)
class Finger:
    """The finger and its reach."""

    outline: Any
    x_mm: tuple[float, float]
    r_mm: tuple[float, float]

    @cached_property
    def shrunk(self) -> tuple[tuple[shapely.Geometry, shapely.Geometry], ...]:
        """The finger, and all its way from behind, less what may be late and less what may be early a touch."""
        back = self.outline - np.array([FAR_MM, 0.0])
        ahead = np.roll(self.outline, -1, axis=0)
        corners = np.stack([self.outline, ahead, np.roll(back, -1, axis=0), back], axis=1)
        own = shapely.Polygon(self.outline)
        coming = shapely.union_all([own, *shapely.convex_hull(shapely.linestrings(corners))])
        return tuple((own.buffer(-less), coming.buffer(-less)) for less in (LATE_MM, EARLY_MM))

    @cached_property
    def face_mm(self) -> float:
        """Height of the stop face."""
        return float(max(up for across, up in self.outline if abs(across) < 1e-6))


def finger_of(machine: Machine) -> Finger:
    """The finger of a machine's stops."""
    return Finger(np.array(machine.finger_outline_mm.drawn_mm(0.02)), machine.stop_x_mm, machine.stop_r_mm)


def edge_wish_s(blank: Blank, bend: int, finger: Finger, handler: Handler, back: Wing) -> float | None:
    """What it costs in wishes to gauge on the raw edge; None where it is not to be touched."""
    t, end, slope = blank.thickness_mm, back.whole[-1], abs(back.slope_deg)
    x, height = end.real + blank.half_span_mm(bend), end.imag + t / 2
    if end.real < back.far_mm - REARMOST_MM or slope > EDGE_SLOPE_DEG:
        return None
    if not finger.x_mm[0] <= x <= finger.x_mm[1] or not finger.r_mm[0] <= height <= finger.r_mm[1] + finger.face_mm:
        return None
    return (handler.sloped_gauge_wish_s if slope > LEVEL_DEG else 0.0) + (
        handler.past_bend_wish_s if back.formed is not None else 0.0
    )


def _level(blank: Blank, back: Wing) -> tuple[int, int] | None:
    """From and to which place of a wing the nearest bend made and the flat after it reach."""
    first = back.formed
    if first is None:
        return None
    zones = blank.zones_of[blank.bend_of(back.strips[first].number)]
    return first, first + 2 * len(zones) - 1


def flange_wish_s(blank: Blank, bend: int, finger: Finger, handler: Handler, back: Wing) -> float | None:
    """What it costs in wishes to gauge on the nearest formed face; None where it is not to be touched."""
    level = _level(blank, back)
    if level is None:
        return None
    first, last = level
    parts, t = back.lines, blank.thickness_mm
    own = np.concatenate(parts[first : last + 1])
    turn = abs(sum(strip.turn_deg for strip in back.strips[first : last + 1]))
    square = abs(turn - 90) <= OFF_SQUARE_DEG and back.strips[last].width_mm >= FACE_MM
    # As if the flat before it lay on the die: the wing before the nearest bend is flat.
    low, high = finger.r_mm[0] - t / 2, finger.r_mm[1] + finger.face_mm - t / 2
    if not (square or turn >= HEM_DEG) or own.imag.min() > high or own.imag.max() < low:
        return None
    far = float(own.real.max())
    x = far + blank.half_span_mm(bend) + t / 2
    if far < back.far_mm - REARMOST_MM or not finger.x_mm[0] <= x <= finger.x_mm[1]:
        return None
    return handler.formed_gauge_wish_s


def flange_bend(blank: Blank, back: Wing) -> int | None:
    """The bend, counted from 0, whose face is the nearest formed one."""
    first = back.formed
    return None if first is None else blank.bend_of(back.strips[first].number)


@dataclass(frozen=True)
class _Spot:
    """The strip to be touched, between two heights of the sheet's middle."""

    place: int
    low_mm: float
    high_mm: float


def _spot(blank: Blank, back: Wing, *, on_flange: bool) -> _Spot:
    parts = back.lines
    if not on_flange:
        return _Spot(len(back.strips) - 1, float(parts[-1][-1].imag), float(parts[-1][-1].imag))
    first = back.formed
    assert first is not None
    if abs(back.strips[first].turn_deg) > 135:
        heights = parts[first].imag
        middle = float(heights.min() + heights.max()) / 2
        return _Spot(first, middle, middle)
    heights = np.concatenate(parts[first : first + 2]).imag
    low, high, radius = float(heights.min()), float(heights.max()), back.strips[first].middle_radius_mm
    return _Spot(first + 1, low + radius, high) if high > -low else _Spot(first + 1, low, high - radius)


def _heights(finger: Finger, spot: _Spot, back: Wing, thickness_mm: float) -> list[float]:
    """Heights of the finger's lower edge to be tried, first that with the contact on the middle of its face."""
    low, high = spot.low_mm + thickness_mm / 2, spot.high_mm + thickness_mm / 2
    if not back.strips[spot.place].is_zone and high > low:
        depth = min(FACE_MM, high - low) / 2
        low, high = low + depth, high - depth
    least, most = max(finger.r_mm[0], low - finger.face_mm), min(finger.r_mm[1], high)
    if least > most:
        return []
    wished = float(np.clip((low + high) / 2 - finger.face_mm / 2, least, most))
    return sorted({wished, *np.linspace(least, most, HEIGHTS).tolist()}, key=lambda r: abs(r - wished))


def stand(
    blank: Blank,
    bend: int,
    choice: Choice,
    finger: Finger,
    front: Wing,
    back: Wing,
    *,
    on_flange: bool,
    start_behind: bool,
) -> Stand | None:
    """Where the finger touches what it is to touch, at the first height at which nothing is in its way."""
    t, tools = blank.thickness_mm, choice.tools[0]
    spot = _spot(blank, back, on_flange=on_flange)
    half = blank.half_span_mm(bend)
    strips = [sheet_of(line + half, t) for line in back.lines]
    line = laid_out(blank, bend, choice, front, back, hit=0, at_end=False, start_behind=start_behind)
    part = sheet_of(line, t)
    base = max(tools.levels_mm) + t
    bodies = [body for _, body in tools.standing] + [
        shapely.affinity.translate(body, 0, base) for _, body in tools.coming
    ]
    nearly: Stand | None = None
    for r in _heights(finger, spot, back, t):
        x = _touched_mm(strips, spot.place, low_mm=r - t / 2, high_mm=r - t / 2 + finger.face_mm)
        if x is None or not finger.x_mm[0] <= x <= finger.x_mm[1]:
            continue
        room = _room(finger, (-x, r), part, bodies)
        if room == FREE:
            return Stand(x, near=False)
        if room == NEAR and nearly is None:
            nearly = Stand(x, near=True)
    return nearly


def _touched_mm(strips: list[shapely.Geometry], place: int, *, low_mm: float, high_mm: float) -> float | None:
    """How far out the strip to be touched reaches between two heights; None where another reaches farther."""
    band = shapely.box(-1e5, low_mm, 1e5, high_mm)
    far = [part.bounds[2] if not (part := shapely.intersection(strip, band)).is_empty else -np.inf for strip in strips]
    if not np.isfinite(far[place]) or far[place] < max(far) - SAME_MM:
        return None
    return float(far[place])


def _room(finger: Finger, at: tuple[float, float], part: shapely.Geometry, bodies: list[shapely.Geometry]) -> int:
    """Whether a finger has room where it stands, and on its way there from behind."""
    for (own, coming), found in zip(finger.shrunk, (STRUCK, NEAR), strict=True):
        moved = shapely.affinity.translate(coming, *at)
        there = shapely.affinity.translate(own, *at)
        if shapely.intersects(moved, part) or any(shapely.intersects(there, body) for body in bodies):
            return found
    return FREE
