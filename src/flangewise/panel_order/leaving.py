"""How a panel leaves the tools after a hit: up and out to the front, along the bed, or turned in its plane.

The part lies as it does at the end of the stroke. Turned, it has sprung back and lies level on its heavier
side under the raised punch, what of the row hangs down between its flanges still inside: the feet of the ears, and
above them the punch.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

import numpy as np

from flangewise.clearance import Body, StandingTool, Turned, foot_of, half_mm, turned_out, way_out_of_row
from flangewise.geometry import Points, SpacePoints
from flangewise.panel_order.lying import area_mm2, straight_pull_mm
from flangewise.punch_die import Row
from flangewise.records import dataclass

if TYPE_CHECKING:
    from flangewise.panel_order.hit import SpaceHit

UNLIMITED_MM = 600.0
# The bend just made is drawn in chords that lie no further within its arc: less than contact leaves to the nose.
CHORDS, SAGITTA_MM = 8, 0.01
# What lies lower than this over a floor is the floor.
FLOOR_MM = 0.1
# How far a row may be shifted before it is turned, in radii of the bend's outside.
SHIFTS = 2.0


@dataclass(frozen=True)
class StandingRow:
    """A row at its place: its left end from the bend line's left end, how long its ears' feet stand alone, and its gaps
    from its left end."""

    from_mm: float
    length_mm: float
    foot_left_mm: float = 0.0
    foot_right_mm: float = 0.0
    gaps_mm: tuple[tuple[float, float], ...] = ()

    @classmethod
    def of(cls, row: Row, from_mm: float) -> StandingRow:
        """A row of segments that begins there."""
        return cls(from_mm, row.length_mm, *row.reach_mm, row.gaps_mm)

    @property
    def to_mm(self) -> float:
        """Its right end."""
        return self.from_mm + self.length_mm

    @property
    def whole_mm(self) -> tuple[float, float]:
        """From where to where all of the outline stands, gaps and all."""
        return self.from_mm + self.foot_left_mm, self.to_mm - self.foot_right_mm

    @property
    def whole_runs_mm(self) -> tuple[tuple[float, float], ...]:
        """Where all of the outline stands."""
        return self._parted(*self.whole_mm)

    @property
    def runs_mm(self) -> tuple[tuple[float, float], ...]:
        """Where anything of it stands."""
        return self._parted(self.from_mm, self.to_mm)

    def _parted(self, low_mm: float, high_mm: float) -> tuple[tuple[float, float], ...]:
        ends = [self.from_mm + mm for gap in self.gaps_mm for mm in gap]
        return tuple(zip((low_mm, *ends[1::2]), (*ends[::2], high_mm), strict=True))


@dataclass(frozen=True)
class Leaving:
    """How a part leaves: with the punch gone straight up, moved with it and to the front, or turned in its plane.

    `opening_mm`: between die top and nose; opened further than `most_opening_mm` the tools would strike the part that
    lies there. `along_bed`: it does not come out to the front and is slid off along the
    bed. `turn_deg`: least and greatest turn that lets it pass, counterclockwise seen from above the part.
    """

    way: Literal["up", "front", "turned"]
    opening_mm: float
    along_bed: bool = False
    turn_deg: tuple[float, float] | None = None
    most_opening_mm: float = math.inf


def leaves(
    hit: SpaceHit, done: frozenset[int], row: StandingRow, die: StandingRow | None, *, turned: bool = True
) -> Leaving | None:
    """The way out found first; None: none found, which proves nothing. Without a die row the die stands everywhere.

    `turned`: whether it is also looked for one turned in the plane, which takes longest.
    """
    stack, nose_mm = hit.tools.stack, -float(hit.stroke.depth_mm(hit.stroke.half_turn_deg))
    limit_mm = UNLIMITED_MM if stack.open_limit_mm is None else stack.open_limit_mm
    half_deg = hit.stroke.half_turn_deg
    pieces = [*_laid(hit, done, half_deg), *_corner(hit, half_deg)]
    # Less than for a straight pull no tools are opened.
    out = way_out_of_row(
        list(standing(hit, row, die)),
        pieces,
        nose_mm=nose_mm,
        most_mm=limit_mm - nose_mm,
        likely_mm=straight_pull_mm(hit, done) - nose_mm,
    )
    if out is not None:
        most_mm = out.most_lift_mm + nose_mm
        return Leaving(
            "up" if out.straight_up else "front", out.lift_mm + nose_mm, out.along_bed, most_opening_mm=most_mm
        )
    return leaves_turned(hit, done, row) if turned else None


def standing(hit: SpaceHit, row: StandingRow, die: StandingRow | None) -> Iterator[StandingTool]:
    """The bodies of a hit's tools, each where its row stands."""
    for body in hit.tools.stack.bodies:
        if body.name == "punch":
            yield StandingTool(body, row.whole_runs_mm)
            ends = ((row.from_mm, row.whole_mm[0]), (row.whole_mm[1], row.to_mm))
            feet = tuple((low, high) for low, high in ends if high > low)
            if feet and hit.foot_mm is not None:
                yield from (StandingTool(foot, feet) for foot in foot_of(body, hit.foot_mm))
        elif body.name == "die":
            yield StandingTool(body, None if die is None else die.whole_runs_mm)
        else:
            yield StandingTool(body)


def _laid(hit: SpaceHit, done: frozenset[int], half_deg: float, *, coarse: bool = False) -> Iterator[SpacePoints]:
    """The corners of all solids of both wings at a moment: along the bed, across toward the operator, up.

    Coarse: each bend as one solid, the hull of its pieces.
    """
    half, moment = half_mm(hit.shapes.blank.thickness_mm), np.array([half_deg])
    for wing, side in ((hit.front, 1.0), (hit.behind, -1.0)):
        for node in wing.nodes(done):
            pieces = [solid.corners_mm for solid in wing.solids(*node, half)]
            if coarse and (bend := [solid.corners_mm for solid in wing.bend(*node, half)]):
                pieces = [*pieces[: -len(bend)], np.concatenate(bend)]
            for corners in pieces:
                laid = hit.stroke.laid_mm(corners[:, 1:], moment)[0]
                yield np.column_stack([hit.shift_mm - side * corners[:, 0], side * laid[:, 0], laid[:, 1]])


def _corner(hit: SpaceHit, half_deg: float) -> Iterator[SpacePoints]:
    """The bend just made in convex pieces about its arc, on each of its runs."""
    stroke, half = hit.stroke, half_mm(hit.shapes.blank.thickness_mm)
    middle_mm, angle = stroke.radius_mm + stroke.thickness_mm / 2, math.radians(half_deg)
    chords = max(CHORDS, math.ceil(2 * angle / math.sqrt(8 * SAGITTA_MM / middle_mm)))
    at = np.linspace(-angle, angle, chords + 1)
    arc = np.column_stack([np.sin(at), -np.cos(at)])
    centre = np.array([0.0, float(stroke.centre_mm(half_deg))])
    inner, outer = (centre + arc * max(middle_mm + off, 0.0) for off in (-half, half))
    for low, high in hit.runs_mm:
        for step in range(chords):
            ring = np.concatenate([inner[step : step + 2], outer[step : step + 2]])
            yield np.column_stack([np.repeat([low, high], 4), np.tile(ring, (2, 1))])


def leaves_turned(hit: SpaceHit, done: frozenset[int], row: StandingRow) -> Leaving | None:
    """Turned in its plane, the heavier side level on the die; none is looked for where something hangs below it.

    Of a row with gaps each block is passed, what stands in a gap leaves by it.
    """
    limit_mm = UNLIMITED_MM if hit.tools.stack.open_limit_mm is None else hit.tools.stack.open_limit_mm
    thickness_mm, punch = hit.shapes.blank.thickness_mm, next(b for b in hit.tools.stack.bodies if b.name == "punch")
    side = _heavier_side(hit, done)
    pieces = _on_the_floor(hit, done, side)
    top_mm = max(float(piece[:, 2].max()) for piece in pieces)
    low_mm = min(float(piece[:, 2].min()) for piece in pieces)
    opening_mm = top_mm + thickness_mm / 2
    foot_mm = hit.foot_mm if row.foot_left_mm or row.foot_right_mm else None
    if low_mm < -thickness_mm / 2 - FLOOR_MM or opening_mm >= limit_mm or top_mm > max(up for _, up in punch.points_mm):
        return None
    floor_mm = thickness_mm / 2 + FLOOR_MM
    standing = [piece for piece in pieces if piece[:, 2].max() > floor_mm]
    middle_mm = row.from_mm + row.length_mm / 2
    blocks = [_plan(punch, run, middle_mm, side) for run in row.whole_runs_mm]
    through = [Turned(block, _seen_from_above(standing)) for block in blocks]
    inside = through
    if foot_mm is not None:
        feet = [_plan(foot, run, middle_mm, side) for foot in foot_of(punch, foot_mm) for run in row.runs_mm]
        over = [piece for piece in standing if piece[:, 2].max() > foot_mm]
        beside = [piece for piece in standing if piece[:, 2].min() < foot_mm + thickness_mm / 2]
        inside = [Turned(block, _seen_from_above(over)) for block in blocks]
        inside += [Turned(foot, _seen_from_above(beside)) for foot in feet]
        through = [*through, *(Turned(foot, _seen_from_above(standing)) for foot in feet)]
    deep_mm = max(float(np.abs(each.ring_mm[:, 1]).max()) for each in through)
    # Over the floor, between the flange just bent and what stands across from it; lifted off the radii beside it the
    # row may shift a little along the bed.
    far_mm = max(float(piece[:, 1].max()) for piece in standing) - deep_mm
    aside_mm = SHIFTS * (thickness_mm + hit.stroke.radius_mm)
    start = (middle_mm - aside_mm, 0.0), (middle_mm + aside_mm, max(far_mm, deep_mm))
    angles = turned_out(inside, through, start)
    return None if angles is None else Leaving("turned", opening_mm, turn_deg=angles)


def _heavier_side(hit: SpaceHit, done: frozenset[int]) -> float:
    """Which way the heavier wing reaches: -1 for behind, 1 for in front."""
    return -1.0 if area_mm2(hit.behind, done) >= area_mm2(hit.front, done) else 1.0


def _on_the_floor(hit: SpaceHit, done: frozenset[int], side: float) -> list[SpacePoints]:
    """All corners, sprung back, the heavier wing level: along the bed, out from the bend into it, over its middle."""
    half_deg = min(hit.operation.zones[0].turn_deg / 2, hit.stroke.half_turn_deg)
    angle = math.radians(half_deg)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    edge = hit.stroke.edge_mm(half_deg)
    found = []
    corner = np.array_split(np.concatenate(list(_corner(hit, half_deg))), len(hit.runs_mm))
    for piece in (*_laid(hit, done, half_deg, coarse=True), *corner):
        level = (piece[:, 1:] * np.array([side, 1.0]) - edge) @ turn
        found.append(np.column_stack([piece[:, 0], level]))
    return found


def _plan(body: Body, along_mm: tuple[float, float], middle_mm: float, side: float) -> Points:
    """A body over a stretch of the bed, seen from above, about the middle of its row, out toward the heavier side."""
    low, high = along_mm[0] - middle_mm, along_mm[1] - middle_mm
    across = [side * out for out, _ in body.points_mm]
    return np.array([(low, min(across)), (high, min(across)), (high, max(across)), (low, max(across))])


def _seen_from_above(pieces: list[SpacePoints]) -> tuple[Points, ...]:
    return tuple(piece[:, :2] for piece in pieces)
