"""A strip bent hit by hit against stops: where the lines come to lie, and what a calliper reads of the finished part.

A second, slow way, told nothing of datums: before every hit the strip is drawn as it is formed so far, the part behind
the bend is pushed against the finger, and that is where the bend comes to lie. X changed by 1 in one hit then shows
what it does to every leg.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

CHORD_DEG = 3.0
FACE_MM = 1000.0


@dataclass(frozen=True)
class Strip:
    """The blank and what its bends become; `groups` are the zones that one hit forms together."""

    developed_mm: float
    zones_mm: tuple[float, ...]
    turns_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    thickness_mm: float
    groups: tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Push:
    """One hit: the group bent, which end lies behind, which face is up, and where the finger stands."""

    group: int
    behind: str
    marked_up: bool
    x_mm: float
    r_mm: float
    face_mm: float


def lines_mm(strip: Strip, planned_mm: Sequence[float], hits: Sequence[Push]) -> list[float]:
    """Where each line comes to lie on the blank. `planned_mm` only says where a bend is tried first."""
    lines, done = list(planned_mm), set()
    for hit in hits:
        zones = strip.groups[hit.group]
        middle = (lines[zones[0]] + lines[zones[-1]]) / 2
        step = 1.0 if hit.behind == "start" else -1.0
        for _ in range(3):
            off = hit.x_mm - _reach_mm(strip, lines, done, hit, from_mm=middle)
            middle += step * off
        assert abs(off) < 1e-6
        moved = middle - (lines[zones[0]] + lines[zones[-1]]) / 2
        for zone in zones:
            lines[zone] += moved
        done |= set(zones)
    return lines


def _reach_mm(strip: Strip, lines: Sequence[float], done: set[int], hit: Push, *, from_mm: float) -> float:
    """How far the part behind reaches at the height of the finger, from the bend lying at `from_mm`."""
    zones = strip.groups[hit.group]
    toward_end = hit.behind == "end"
    behind = [zone for zone in range(len(lines)) if (zone > zones[-1] if toward_end else zone < zones[0])]
    outward = sorted(set(behind) & done, reverse=not toward_end)
    signs = 1.0 if hit.marked_up else -1.0
    at, pieces = from_mm, []
    for zone in outward:
        near = lines[zone] - strip.zones_mm[zone] / 2 if toward_end else lines[zone] + strip.zones_mm[zone] / 2
        pieces.append(("flat", abs(near - at), 0.0))
        pieces.append(("arc", strip.radii_mm[zone] + strip.thickness_mm / 2, signs * strip.turns_deg[zone]))
        at = near + strip.zones_mm[zone] if toward_end else near - strip.zones_mm[zone]
    pieces.append(("flat", strip.developed_mm - at if toward_end else at, 0.0))
    sheet = shapely.unary_union(_bodies(pieces, strip.thickness_mm))
    low = hit.r_mm - strip.thickness_mm / 2
    return float(sheet.intersection(shapely.box(-FACE_MM, low, FACE_MM, low + hit.face_mm)).bounds[2])


def _bodies(pieces: Sequence[tuple[str, float, float]], thickness_mm: float) -> list[shapely.Polygon]:
    """Each piece as the outline of its stretch of sheet, one after the other from the origin along +x."""
    x = y = heading = 0.0
    found = []
    for kind, size, turn_deg in pieces:
        count = max(2, math.ceil(abs(turn_deg) / CHORD_DEG) + 1)
        if kind == "flat":
            along = np.array([[0.0, 0.0], [size, 0.0]])
            normals = np.array([[0.0, 1.0], [0.0, 1.0]])
        else:
            angles = np.radians(np.linspace(0.0, abs(turn_deg), count))
            side = math.copysign(1.0, turn_deg)
            along = np.column_stack([size * np.sin(angles), side * size * (1 - np.cos(angles))])
            normals = np.column_stack([-side * np.sin(angles), np.cos(angles)])
        cos, sin = math.cos(heading), math.sin(heading)
        turned = np.array([[cos, sin], [-sin, cos]])
        middle = along @ turned + [x, y]
        half = normals @ turned * thickness_mm / 2
        found.append(shapely.Polygon(np.vstack([middle + half, (middle - half)[::-1]])))
        x, y = middle[-1]
        heading += math.radians(turn_deg)
    return found


def legs_mm(strip: Strip, lines: Sequence[float]) -> list[float]:
    """What a calliper reads along each leg of the finished part: from one outermost point beside it to the other."""
    pieces, at = [], 0.0
    for zone, line in enumerate(lines):
        pieces.append(("flat", line - strip.zones_mm[zone] / 2 - at, 0.0))
        pieces.append(("arc", strip.radii_mm[zone] + strip.thickness_mm / 2, strip.turns_deg[zone]))
        at = line + strip.zones_mm[zone] / 2
    pieces.append(("flat", strip.developed_mm - at, 0.0))
    bodies = _bodies(pieces, strip.thickness_mm)
    webs = {zone for group in strip.groups for zone in group[1:]}
    read, heading = [], 0.0
    for flat in range(len(lines) + 1):
        if flat not in webs:
            along = np.array([math.cos(math.radians(heading)), math.sin(math.radians(heading))])
            beside = bodies[max(0, 2 * flat - 1) : 2 * flat + 2]
            reaches = np.concatenate([np.array(body.exterior.coords) @ along for body in beside])
            read.append(float(reaches.max() - reaches.min()))
        heading += strip.turns_deg[flat] if flat < len(lines) else 0.0
    return read


def grown_mm(strip: Strip, planned_mm: Sequence[float], hits: Sequence[Push], number: int) -> list[float]:
    """What each leg grows by when hit `number` is made with one more on X, all else as it was."""
    more = [Push(**{**vars(hit), "x_mm": hit.x_mm + (nth == number)}) for nth, hit in enumerate(hits)]
    before, after = (legs_mm(strip, lines_mm(strip, planned_mm, each)) for each in (hits, more))
    return [longer - leg for leg, longer in zip(before, after, strict=True)]
