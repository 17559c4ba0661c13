"""A section folded by hand for the tests: walked leg by leg along its middle surface, then laid on the die."""

import math
from dataclasses import dataclass
from typing import Literal

from flangewise.pattern import FlatPattern
from flangewise.sheet import Flat, Profile

Point = tuple[float, float]
Side = Literal["operator", "backgauge"]


@dataclass(frozen=True)
class Fold:
    """Flat lengths, zone widths, signed turns and inside radii of a section, and its thickness."""

    flats_mm: tuple[float, ...]
    zones_mm: tuple[float, ...]
    turns_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    thickness_mm: float

    @property
    def developed_mm(self) -> float:
        return sum(self.flats_mm) + sum(self.zones_mm)

    def flat_from_mm(self, leg: int) -> float:
        return sum(self.flats_mm[:leg]) + sum(self.zones_mm[:leg])

    def line_mm(self, bend: int) -> float:
        return self.flat_from_mm(bend) + self.flats_mm[bend] + self.zones_mm[bend] / 2


def walked(fold: Fold, done: frozenset[int]) -> tuple[list[tuple[Point, Point]], list[tuple[Point, Point]]]:
    """Middle surface and normals toward the marked face, start edge at the origin, first leg along +x; flats' ends."""
    at, heading = (0.0, 0.0), 0.0
    surface: list[tuple[Point, Point]] = []
    ends: list[tuple[Point, Point]] = []

    def put() -> None:
        surface.append((at, (-math.sin(heading), math.cos(heading))))

    for leg, flat_mm in enumerate(fold.flats_mm):
        start = at
        put()
        at = (at[0] + flat_mm * math.cos(heading), at[1] + flat_mm * math.sin(heading))
        put()
        ends.append((start, at))
        if leg == len(fold.turns_deg):
            break
        if leg not in done:
            at = (at[0] + fold.zones_mm[leg] * math.cos(heading), at[1] + fold.zones_mm[leg] * math.sin(heading))
            continue
        turn = math.radians(fold.turns_deg[leg])
        chords = max(4, math.ceil(abs(fold.turns_deg[leg]) / 10))
        chord_mm = 2 * (fold.radii_mm[leg] + fold.thickness_mm / 2) * math.sin(abs(turn) / chords / 2)
        for _ in range(chords):
            heading += turn / chords / 2
            at = (at[0] + chord_mm * math.cos(heading), at[1] + chord_mm * math.sin(heading))
            heading += turn / chords / 2
            put()
    return surface, ends


def laid(
    fold: Fold,
    pattern: FlatPattern,
    done: frozenset[int],
    bend: int,
    *,
    up: bool,
    start_at: Side,
    formed: bool,
    depth_mm: float = 0.0,
) -> Profile:
    """The section on the die with one bend over the die's centre: flat on the top, or formed with the nose below it."""
    surface, ends = walked(fold, done | {bend} if formed else done)
    before, behind = ends[bend][1], ends[bend + 1][0]
    heading = math.atan2(ends[bend][1][1] - ends[bend][0][1], ends[bend][1][0] - ends[bend][0][0])
    if formed:
        heading += math.radians(fold.turns_deg[bend]) / 2
    mirror = 1.0 if up else -1.0
    sense = -1.0 if start_at == "operator" else 1.0

    def put(point: Point) -> Point:
        x, y = point[0] - before[0], point[1] - before[1]
        x, y = x * math.cos(heading) + y * math.sin(heading), -x * math.sin(heading) + y * math.cos(heading)
        return sense * x, mirror * y

    half = fold.thickness_mm / 2
    outline = [put((x + n[0] * half, y + n[1] * half)) for (x, y), n in surface]
    outline += [put((x - n[0] * half, y - n[1] * half)) for (x, y), n in reversed(surface)]
    centre = (put(before)[0] + put(behind)[0]) / 2
    if formed:
        near = [up_mm for across, up_mm in outline if abs(across - centre) < fold.radii_mm[bend] + fold.thickness_mm]
        lift = -depth_mm - fold.thickness_mm - min(near)
    else:
        lift = half - put(before)[1]

    def move(point: Point) -> Point:
        return point[0] - centre, point[1] + lift

    flats = tuple(Flat(face, move(put(a)), move(put(b))) for face, (a, b) in zip(pattern.faces, ends, strict=True))
    return Profile(tuple(move(point) for point in outline), flats)
