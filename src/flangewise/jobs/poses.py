"""Where each leg of a part stands in the machine: for the pictures, which name and measure legs one by one."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from flangewise.geometry import Chain, Path, done_angles, section_path
from flangewise.sheet import FlatPose, Pose

End = Literal["start", "end"]
Spot = tuple[float, float]
Outline = Sequence[Spot]


@dataclass(frozen=True)
class Run:
    """The middle surface of a section from behind to the front, with the normal to its upper face at each point.

    `spans` names the piece each point belongs to: 2 f for flat f, 2 z + 1 for zone z.
    """

    points_mm: tuple[Spot, ...]
    normals: tuple[Spot, ...]
    spans: tuple[int, ...]

    def ends_mm(self, span: int) -> tuple[Spot, Spot]:
        """First and last point of a piece."""
        points = [point for point, each in zip(self.points_mm, self.spans, strict=True) if each == span]
        return points[0], points[-1]

    def turned(self, by_rad: float, *, about_mm: Spot, onto_mm: Spot) -> Run:
        """The run turned about a point, and that point brought onto another."""
        cosine, sine = math.cos(by_rad), math.sin(by_rad)

        def put(spot: Spot, origin: Spot, target: Spot) -> Spot:
            x, y = spot[0] - origin[0], spot[1] - origin[1]
            return (x * cosine - y * sine + target[0], x * sine + y * cosine + target[1])

        points = tuple(put(point, about_mm, onto_mm) for point in self.points_mm)
        return Run(points, tuple(put(normal, (0.0, 0.0), (0.0, 0.0)) for normal in self.normals), self.spans)

    def outline_mm(self, thickness_mm: float) -> tuple[Spot, ...]:
        """Closed outline of the sheet: over the upper face to the front, back along the lower."""
        half = thickness_mm / 2
        pairs = list(zip(self.points_mm, self.normals, strict=True))
        upper = [(x + a * half, y + b * half) for (x, y), (a, b) in pairs]
        return (*upper, *((x - a * half, y - b * half) for (x, y), (a, b) in reversed(pairs)))


def pose_of(chain: Chain, done: Collection[int], outline: Outline, *, marked_up: bool, behind: End) -> Pose:
    """The legs of a part of which the outline in the machine is known, with the zones of `done` formed.

    The section folded on its own is turned and moved so that its rearmost leg comes to lie where the outline has it:
    an outline goes over the upper face from behind to the front and back along the lower, so the middle of its first
    and last points is the middle surface.
    """
    run = _seen(section_path(chain, done_angles(chain, set(done))), marked_up=marked_up, behind=behind)
    have, want = run.ends_mm(0 if behind == "start" else 2 * chain.bends), _first_leg(outline)
    placed = run.turned(_heading(*want) - _heading(*have), about_mm=have[0], onto_mm=want[0])
    return Pose(tuple(outline), _flats(chain, placed, behind=behind))


def _seen(path: Path, *, marked_up: bool, behind: End) -> Run:
    """A folded section as seen from the left end of the machine, its order from behind to the front."""
    across, up = (1.0 if behind == "start" else -1.0), (1.0 if marked_up else -1.0)
    points = [(float(x) * across, float(y) * up) for x, y in path.points_mm]
    normals = [(float(x) * across * up, float(y)) for x, y in path.normals]
    order = slice(None) if behind == "start" else slice(None, None, -1)
    spans = [int(span) for span in path.spans]
    return Run(tuple(points[order]), tuple(normals[order]), tuple(spans[order]))


def _first_leg(outline: Outline) -> tuple[Spot, Spot]:
    """The rearmost leg's ends on the middle surface."""
    first, last = (_halfway(outline[index], outline[-1 - index]) for index in (0, 1))
    return first, last


def _halfway(one: Spot, other: Spot) -> Spot:
    return ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)


def _heading(start: Spot, end: Spot) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])


def _flats(chain: Chain, run: Run, *, behind: End) -> tuple[FlatPose, ...]:
    flats, from_mm = [], 0.0
    for face, length_mm in enumerate(chain.flats_mm):
        ends = run.ends_mm(2 * face)
        start, end = ends if behind == "start" else ends[::-1]
        flats.append(FlatPose(face + 1, from_mm, from_mm + length_mm, start, end))
        from_mm += length_mm + (chain.zones_mm[face] if face < chain.bends else 0.0)
    return tuple(flats)


def finished_pose(chain: Chain) -> Pose:
    """The finished section, its longest leg level and the rest above it, seen from the left end of the blank.

    The blank lies with its marked face up and its start edge to the operator, so the section runs from right to left.
    """
    run = _seen(section_path(chain, chain.turns_deg), marked_up=True, behind="end")
    base = max(range(chain.bends + 1), key=lambda face: (round(chain.flats_mm[face], 3), -face))
    ends = run.ends_mm(2 * base)
    level = run.turned(-_heading(*ends), about_mm=ends[0], onto_mm=(0.0, 0.0))
    if sum(up for _, up in level.points_mm) < -1e-6:
        level = level.turned(math.pi, about_mm=(0.0, 0.0), onto_mm=(0.0, 0.0))
    return Pose(level.outline_mm(chain.thickness_mm), _flats(chain, level, behind="end"))


def pre_bent(chain: Chain, done: Collection[int], zone: int, *, turn_deg: float, marked_up: bool, behind: End) -> Run:
    """The section with a hem's zone part of the way, seen from the left end; not yet placed.

    The turn is a magnitude; the rest of the zone stays flat on both sides of it.
    """
    angles = list(done_angles(chain, set(done) - {zone}))
    angles[zone] = math.copysign(turn_deg, chain.turns_deg[zone])
    return _seen(section_path(chain, angles), marked_up=marked_up, behind=behind)


def on_die(run: Run, zone: int, *, depth_mm: float, thickness_mm: float) -> tuple[Spot, ...]:
    """A part-bent section with the bend over the die's centre, its legs rising alike, the nose so deep."""
    ends = run.ends_mm(2 * zone + 1)
    level = run.turned(-_heading(*ends), about_mm=ends[0], onto_mm=(0.0, 0.0))
    bend = [point for point, span in zip(level.points_mm, level.spans, strict=True) if span == 2 * zone + 1]
    lowest_mm = min(up for _, up in bend) - thickness_mm / 2
    middle = (_halfway(bend[0], bend[-1])[0], lowest_mm + thickness_mm + depth_mm)
    return level.turned(0.0, about_mm=middle, onto_mm=(0.0, 0.0)).outline_mm(thickness_mm)


def on_plate(run: Run, zone: int, *, body: int, thickness_mm: float) -> tuple[Spot, ...]:
    """A pre-bent section lying with its body level on the flattener's lower plate, the bend at the middle."""
    ends = run.ends_mm(2 * body)
    inner = min(ends, key=lambda end: min(math.dist(end, edge) for edge in run.ends_mm(2 * zone + 1)))
    return run.turned(-_heading(*ends), about_mm=inner, onto_mm=(0.0, thickness_mm / 2)).outline_mm(thickness_mm)
