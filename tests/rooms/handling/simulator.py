"""A second simulator of a held part: its own fold of a sharp section, its own gripper, looked at moment by moment.

It knows the toy tools and the record of a grip, and nothing of how the planner looks at either.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

Point = complex
T = 1.5
V_MM = 12.0
MOMENTS = 60
LEVEL_MM = 1e-6


@dataclass(frozen=True)
class Lain:
    """The sheet's middle line in the machine, from behind to the front, and where each flat's ends lie."""

    flats: dict[int, tuple[Point, Point]]


def lain(
    lengths: Sequence[float],
    turns: Sequence[float],
    *,
    made: set[int],
    bend: int,
    marked_up: bool,
    start_behind: bool,
    half_deg: float,
) -> Lain:
    """The section with the bends made before, the one being made at a moment, over the die's middle."""
    signs = 1.0 if marked_up else -1.0
    phi = math.radians(half_deg)
    apex = complex(0.0, T / (2 * math.cos(phi)) - V_MM / 2 * math.tan(phi))
    flats: dict[int, tuple[Point, Point]] = {}
    for toward_end in (True, False):
        front = toward_end == start_behind
        heading = phi if front else math.pi - phi
        # Seen going outward a turn toward the upper face rises on either side.
        lifts = 1.0 if front else -1.0
        at = apex
        zones = range(bend + 1, len(turns)) if toward_end else range(bend - 1, -1, -1)
        faces = list(range(bend + 1, len(lengths)) if toward_end else range(bend, -1, -1))
        steps = [*zones, None]
        for face, zone in zip(faces, steps, strict=True):
            out = at + cmath.rect(lengths[face], heading)
            flats[face] = (at, out) if toward_end else (out, at)
            at = out
            if zone is not None and zone in made:
                heading += lifts * math.radians(signs * turns[zone])
    return Lain(flats)


def nose_up_mm(half_deg: float) -> float:
    """Height of the punch nose over the die's top while it bends a sharp sheet."""
    phi = math.radians(half_deg)
    return T / math.cos(phi) - V_MM / 2 * math.tan(phi)


def body_at(
    grip: object, outline: Sequence[Sequence[float]], lie: Lain, *, marked_up: bool, start_behind: bool
) -> shapely.Geometry:
    """The gripper's body: pads' middle on the flat, its arm along it, its side away from the sheet."""
    begin, end = lie.flats[grip.flat]  # type: ignore[attr-defined]
    along = (end - begin) / abs(end - begin)
    at = begin + along * grip.at_mm  # type: ignore[attr-defined]
    # From behind to the front the upper face lies to the left; the start edge may be in front.
    onward = along if start_behind else -along
    upper = onward * 1j
    away = upper if grip.marked == marked_up else -upper  # type: ignore[attr-defined]
    arm = along if grip.toward_end else -along  # type: ignore[attr-defined]
    if grip.kind == "face":  # type: ignore[attr-defined]
        at += away * (T / 2)
    corners = [at + arm * float(x) + away * float(y) for x, y in outline]
    return shapely.Polygon([(each.real, each.imag) for each in corners])


def tool_shapes(bodies: Sequence[object], nose_mm: float) -> list[shapely.Geometry]:
    """The tools with the nose so high."""
    found = []
    for body in bodies:
        up = nose_mm if body.with_ram else 0.0  # type: ignore[attr-defined]
        found.append(shapely.Polygon([(x, y + up) for x, y in body.points_mm]))  # type: ignore[attr-defined]
    return found


def gaps_mm(body: shapely.Geometry, grip: object, lie: Lain, tools: Sequence[shapely.Geometry]) -> Iterator[float]:
    """How far the body is from each tool, and from the skin of each flat that it does not hold."""
    for tool in tools:
        yield float(shapely.distance(body, tool))
    for face, (one, other) in lie.flats.items():
        if face != grip.flat:  # type: ignore[attr-defined]
            line = shapely.LineString([(one.real, one.imag), (other.real, other.imag)])
            yield float(shapely.distance(body, line)) - T / 2


def turned_clear(
    lie: Lain,
    grip: object,
    outline: Sequence[Sequence[float]],
    *,
    length_mm: float,
    pad_along_mm: float,
    about: str,
    **lies: bool,
) -> bool:
    """Half a turn of the part in the gripper, point by point: does none come into the gripper's body.

    The gripper stands still, its body as long along the bed as its pads; the part turns about the sheet's normal
    through the pads' middle, or about the arm.
    """
    begin, end = lie.flats[grip.flat]  # type: ignore[attr-defined]
    along = (end - begin) / abs(end - begin)
    onward = along if lies["start_behind"] else -along
    away = onward * 1j if grip.marked == lies["marked_up"] else -onward * 1j  # type: ignore[attr-defined]
    arm = along if grip.toward_end else -along  # type: ignore[attr-defined]
    at = begin + along * grip.at_mm  # type: ignore[attr-defined]
    body = shapely.Polygon([(float(x), float(y)) for x, y in outline])
    shapely.prepare(body)
    for face, (one, other) in lie.flats.items():
        if face == grip.flat:  # type: ignore[attr-defined]
            continue
        for nth in range(41):
            point = one + (other - one) * nth / 40 - at
            # What lies level with the held sheet lies on its middle but for rounding; the body stands on the skin.
            x, y = (point * arm.conjugate()).real, (point * away.conjugate()).real - LEVEL_MM
            for z in (length_mm / 2 * k / 20 for k in range(-20, 21)):
                for turn in (math.pi * k / 36 for k in range(37)):
                    if about == "approach":
                        here = (x, y * math.cos(turn) - z * math.sin(turn), y * math.sin(turn) + z * math.cos(turn))
                    else:
                        here = (x * math.cos(turn) - z * math.sin(turn), y, x * math.sin(turn) + z * math.cos(turn))
                    if abs(here[2]) <= pad_along_mm / 2 and shapely.contains_xy(body, here[0], here[1]):
                        return False
    return True
